#include "sim/governor.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "sim/arm_span.h"
#include "sim/distance.h"
#include "sim/solid.h"

namespace dryrig {

namespace {

using Eigen::Vector3d;

constexpr double kNone = std::numeric_limits<double>::infinity();
constexpr double kLag_s = 0.02;      // of the servo behind its set point, beside its latency: more than measured
constexpr double kSpare_m = 0.03;    // begins to slow this much before it must
constexpr double kRemembered_s = 8;  // of the path, to retreat over
constexpr double kLookBack_s = 0.3;
constexpr double kFastestRetreat = 0.5;                                 // times the path's own speed
constexpr double kFastestBrake_per_s = 60, kFastestEase_per_s2 = 2000;  // of the path's rate: 17 ms, whatever it moves
constexpr double kStill_mps = 1e-6;

}  // namespace

std::string_view ToString(GovernorState state) {
  switch (state) {
    case GovernorState::kWatch:
      return "watch";
    case GovernorState::kSlow:
      return "slow";
    case GovernorState::kStop:
      return "stop";
    case GovernorState::kRetreat:
      return "retreat";
  }
  return "";
}

Governor::Governor(const GovernorSpec& spec, const Stage& stage, const PersonBody& person, const JointVector& q0,
                   double physics_hz, double control_hz, uint64_t seed)
    : spec_(spec),
      stage_(&stage),
      person_(&person),
      dt_s_(1 / physics_hz),
      control_hz_(control_hz),
      // Decision to decision, the tick in which it acts, and the servo.
      reaction_s_(1 / spec.sensor.rate_hz + 2 / physics_hz + stage.arm.servo.latency_s + kLag_s),
      sensor_(spec.sensor, seed),
      tracker_(stage, q0, control_hz),
      clock_(control_hz, kRemembered_s) {
  for (const ArmBody& body : ArmBodies(stage.arm)) {
    if (body.link >= 0) parts_.push_back({body, SpanOf(stage.arm, body), body.body.shape.BoundingRadius()});
  }
  for (const PersonCapsule& capsule : person.capsules) {
    const std::string& region = capsule.region;
    if (region == "skull" || region == "face") {
      kinds_.push_back(kHead);
    } else if (region == "neck" || region == "back" || region == "chest" || region == "abdomen" || region == "pelvis") {
      kinds_.push_back(kTrunk);
    } else {
      kinds_.push_back(kLimb);
    }
  }
  threats_.resize(parts_.size());
}

double Governor::KindSpeed_mps(Kind kind) const {
  return kind == kHead ? spec_.head_mps : kind == kTrunk ? spec_.trunk_mps : spec_.limb_mps;
}

void Governor::Foresee(const std::vector<Eigen::Isometry3d>& X_WL) {
  JointVector q, v, v_end, a_end;
  clock_.PathAt(&q, &v);
  clock_.PathEnd(&v_end, &a_end);
  JointVector gain = (v_end - v).cwiseAbs();
  for (Eigen::Index j = 0; j < gain.size(); ++j) {
    // Braking begins where the acceleration has to be brought to nothing first.
    if (a_end[j] * v_end[j] >= 0) gain[j] += a_end[j] * a_end[j] / (2 * stage_->arm.joints[static_cast<size_t>(j)].jerk);
  }
  slow_per_s_ = kFastestBrake_per_s, ease_per_s2_ = kFastestEase_per_s2;
  for (Eigen::Index j = 0; j < v.size(); ++j) {
    const Joint& joint = stage_->arm.joints[static_cast<size_t>(j)];
    const double fastest = std::abs(v[j]) + gain[j];
    slow_per_s_ = std::min(slow_per_s_, spec_.brake_share * joint.acceleration / fastest);
    ease_per_s2_ = std::min(ease_per_s2_, spec_.brake_share * joint.jerk / fastest);
  }
  for (size_t i = 0; i < parts_.size(); ++i) {
    const Part& part = parts_[i];
    const Vector3d middle_W = X_WL[static_cast<size_t>(part.body.link)] * part.body.body.X_LS.translation();
    Threat& threat = threats_[i];
    threat.leads_away =
        threat.head_near && LeadsAway(threat, part.body.link, X_WL, v) && LeadsAway(threat, part.body.link, X_WL, v_end);
    threat.speed_mps = MostSpeed_mps(stage_->arm, X_WL, part.body.link, middle_W, part.ball_m, v) + part.span.dot(gain);
  }
}

double Governor::Needed_m(const Threat& threat, Kind kind, double rate, double age_s) const {
  const double gaining = std::max(0.0, clock_.slope());
  const double most = rate + gaining * gaining / (2 * ease_per_s2_);
  const double speed = most * threat.speed_mps, let_be = kind == kHead && !threat.leads_away ? 0 : spec_.contact_mps;
  if (speed <= std::max(let_be, kStill_mps)) return -kNone;
  const double loss = most - let_be / threat.speed_mps;
  const double set_in_s = std::min(slow_per_s_ / ease_per_s2_, std::sqrt(loss / ease_per_s2_));
  const double slowing_s = gaining / ease_per_s2_ + loss / slow_per_s_ + 2 * set_in_s;
  const double arm_m = speed * (reaction_s_ + set_in_s) + 0.5 * (speed + let_be) * slowing_s;
  return spec_.sensor.error_m + arm_m + KindSpeed_mps(kind) * (age_s + reaction_s_ + slowing_s);
}

bool Governor::Allowed(const Threat& threat, double rate, double age_s, double spare_m) const {
  for (const Kind kind : {kHead, kTrunk, kLimb}) {
    if (threat.gap_m[kind] < Needed_m(threat, kind, rate, age_s) + spare_m) return false;
  }
  return true;
}

double Governor::AllowedRate(double age_s, double spare_m) const {
  const auto allowed = [&](double rate) {
    return std::all_of(threats_.begin(), threats_.end(),
                       [&](const Threat& threat) { return Allowed(threat, rate, age_s, spare_m); });
  };
  if (allowed(1)) return 1;
  double good = 0, bad = 1;
  for (int halving = 0; halving < 12; ++halving) {
    const double middle = 0.5 * (good + bad);
    (allowed(middle) ? good : bad) = middle;
  }
  return good;
}

void Governor::Sense(double t_s, const std::vector<Eigen::Isometry3d>& X_WL) {
  const SafetySensor::Sample* sample = sensor_.Newest(t_s);
  age_s_ = sample == nullptr ? kNone : t_s - sample->taken_s - spec_.sensor.late_s;
  for (size_t i = 0; i < parts_.size(); ++i) {
    Threat& threat = threats_[i];
    if (sample == nullptr) {
      threat.gap_m.fill(-kNone);
      threat.head_near = false;
      continue;
    }
    const Part& part = parts_[i];
    const Eigen::Isometry3d X_WS = X_WL[static_cast<size_t>(part.body.link)] * part.body.body.X_LS;
    const Solid solid = MakeSolid(part.body.body.shape, X_WS);
    // What is farther than any rate needs does not have to be known exactly.
    std::array<double, kKinds> matters_m{};
    for (const Kind kind : {kHead, kTrunk, kLimb})
      matters_m[kind] = std::max(Needed_m(threat, kind, 1, age_s_) + kSpare_m, kind == kHead ? spec_.retreat_within_m + 0.2 : 0);
    threat.gap_m.fill(kNone);
    threat.head_near = false;
    for (size_t k = 0; k < kinds_.size(); ++k) {
      const Kind kind = kinds_[k];
      const PersonCapsule& capsule = person_->capsules[k];
      const Vector3d &a = sample->pose.p_W[static_cast<size_t>(capsule.a)], &b = sample->pose.p_W[static_cast<size_t>(capsule.b)];
      const double ball_gap = (X_WS.translation() - 0.5 * (a + b)).norm() - part.ball_m - 0.5 * (b - a).norm() - capsule.radius_m;
      if (ball_gap >= threat.gap_m[kind]) continue;
      if (ball_gap > matters_m[kind]) {
        threat.gap_m[kind] = ball_gap;
        continue;
      }
      const Nearest near = DistanceOf(solid, MakeCapsule(a, b, capsule.radius_m));
      if (near.distance_m >= threat.gap_m[kind]) continue;
      threat.gap_m[kind] = near.distance_m;
      if (kind == kHead) threat.p_WArm = near.p_WA, threat.p_WHead = near.p_WB, threat.head_near = near.distance_m > 0;
    }
  }
}

/// Within 60 degrees of straight away, or at rest.
bool Governor::LeadsAway(const Threat& threat, int link, const std::vector<Eigen::Isometry3d>& X_WL,
                         const JointVector& qd) const {
  const Vector3d way = threat.p_WHead - threat.p_WArm;
  const double length = way.norm();
  if (length < 1e-6) return false;
  const Vector3d moved = PointRowsAt(stage_->arm, X_WL, link, threat.p_WArm) * qd;
  return moved.dot(way) <= -0.5 * moved.norm() * length;
}

bool Governor::RetreatLeadsAway(const std::vector<Eigen::Isometry3d>& X_WL) const {
  JointVector q, v;
  clock_.PathAt(&q, &v);
  const JointVector back = clock_.PositionBefore(kLookBack_s) - q;
  for (size_t i = 0; i < parts_.size(); ++i) {
    const Threat& threat = threats_[i];
    if (threat.gap_m[kHead] > spec_.retreat_within_m + 0.1) continue;
    if (!threat.head_near || !LeadsAway(threat, parts_[i].body.link, X_WL, back)) return false;
  }
  return true;
}

void Governor::Decide(double t_s, const std::vector<Eigen::Isometry3d>& X_WL) {
  Foresee(X_WL);
  Sense(t_s, X_WL);
  double head_m = kNone, fastest_mps = 0;
  for (const Threat& threat : threats_) {
    head_m = std::min(head_m, threat.gap_m[kHead]);
    fastest_mps = std::max(fastest_mps, threat.speed_mps);
  }
  const bool moves = std::abs(clock_.rate()) * fastest_mps > kStill_mps;
  if (moves || head_m > spec_.retreat_within_m) stands_since_s_ = t_s;

  if (state_ == GovernorState::kRetreat || t_s - stands_since_s_ >= spec_.retreat_after_s) {
    const bool on = head_m < spec_.retreat_within_m + 0.1 && clock_.CanRunBack() && RetreatLeadsAway(X_WL);
    if (on) {
      state_ = GovernorState::kRetreat;
      target_ = -std::min(kFastestRetreat, spec_.retreat_mps / std::max(fastest_mps, 1e-3));
      return;
    }
    if (state_ == GovernorState::kRetreat) {
      target_ = 0;
      if (!clock_.stands()) return;
      // From where it stands the tracker begins anew: the rest of its old path is not gone over again.
      JointVector q, v;
      clock_.PathAt(&q, &v);
      tracker_ = Tracker(*stage_, q, control_hz_);
      clock_.Forget();
      state_ = GovernorState::kStop;
      stands_since_s_ = t_s;
      return;
    }
  }
  const double most = AllowedRate(age_s_, 0);
  brakes_ = most < clock_.rate() - 1e-9;
  target_ = brakes_ ? most : AllowedRate(age_s_, kSpare_m);
  const double now_mps = clock_.rate() * fastest_mps;
  if (!refused_ && !brakes_ && target_ >= 1 && clock_.rate() >= 1)
    state_ = GovernorState::kWatch;
  else
    state_ = now_mps <= kStill_mps ? GovernorState::kStop : GovernorState::kSlow;
}

void Governor::NextPeriod(const std::vector<Eigen::Isometry3d>& X_WL) {
  if (!clock_.empty()) tracker_.Advance();
  refused_ = brakes_;
  if (move_ && !brakes_) {
    tracker_.Follow(*move_);
    clock_.Lay(tracker_);
    Foresee(X_WL);
    refused_ = AllowedRate(age_s_, 0) < clock_.rate() - 1e-9;
    if (!refused_) return;
    tracker_.Hold();
    clock_.LayAgain(tracker_);
  } else {
    clock_.Lay(tracker_);
  }
  Foresee(X_WL);
}

void Governor::Tick(double t_s, const std::vector<Eigen::Isometry3d>& X_WL, JointSetPoint* out) {
  if (clock_.AtEnd()) NextPeriod(X_WL);
  constexpr double kRounding_s = 1e-9;
  if (t_s >= next_decision_s_ - kRounding_s) {
    next_decision_s_ = t_s + 1 / spec_.sensor.rate_hz;
    Decide(t_s, X_WL);
    if (clock_.AtEnd()) NextPeriod(X_WL);  // it began anew
  }
  clock_.SetPoint(out);
  clock_.Tick(dt_s_, target_, slow_per_s_, spec_.hasten_per_s, ease_per_s2_);
}

}  // namespace dryrig
