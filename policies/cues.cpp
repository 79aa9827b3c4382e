#include "policies/cues.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dryrig {

namespace {

constexpr double kDegree = std::numbers::pi / 180;

// Pointing: lengths from knuckle to tip, in hand lengths. Straight index 0.43; the others 0.2 when curled, 0.38 when relaxed.
constexpr double kIndexShort = 0.30, kIndexLong = 0.38, kOthersShort = 0.27, kOthersLong = 0.34;
constexpr double kStill_mps = 0.15;            // a pointing or showing hand has come to rest
constexpr double kAimWidth_rad = 7 * kDegree;  // spread of pointing about its target: people's own error and the tracker's
constexpr double kAimWidest_rad = 32 * kDegree;
constexpr double kTouch_m = 0.2, kTouchWidth_m = 0.09, kTouchShare = 0.3;
constexpr double kHandStraight = 0.9;  // cosine between palm and index finger
constexpr double kPointing = 0.4, kPointingKept = 0.15, kExtendedAfter_s = 0.06;
constexpr double kPointAfter_s = 0.15, kEvidenceMost_s = 0.8;
constexpr double kSwitchLead_s = 0.15;  // another prop must be ahead by so much

// Raised: before the chest and in a hand, the head up: a tall thing at work over another is not.
constexpr double kRaisedShare = 0.55, kLoweredShare = 0.35, kShoulderShare = 1.0;  // of the way from bench to shoulders
constexpr double kOffItsPlace_m = 0.03;
constexpr double kInHand_m = 0.13, kRaisedAfter_s = 0.25;
constexpr double kRaisedStill_mps = 0.2;

// Work: the hand is away from its rest, low, stays, and the head is down to it.
constexpr double kReturn = 0.4;  // a hand that passes its rest at work is still at work
constexpr double kAway_m = 0.05, kAwayAfter_s = 0.15, kTransport_mps = 0.12, kWorkHeight_m = 0.30, kWorkAfter_s = 0.45;
constexpr double kLowering_s = 1.2;  // what was held up is put down or taken to work: neither is work yet
constexpr double kSlow_s = 0.25;

// Address: the face is lifted to where the camera is.
constexpr double kHeadUp_rad = -13 * kDegree, kHeadDown_rad = -17 * kDegree, kAddressAfter_s = 0.5;
constexpr double kRestTime_s = 1.5, kRestStill_s = 0.5, kRestStill_mps = 0.05;

// Torso: shoulders also twist with a reach and with work at the side, the head down to it.
constexpr double kTorsoCalm_s = 0.25, kTurned_rad = 18 * kDegree, kTurnedKept_rad = 12 * kDegree, kTurnedAfter_s = 0.25;

// Evidence rises with time while it holds and falls as quickly when it does not.
void Weigh(double* evidence, double rate, double dt_s) {
  *evidence = std::clamp(*evidence + rate * dt_s, 0.0, kEvidenceMost_s);
}

double Elevation_rad(const Eigen::Vector3d& v) {
  return std::atan2(v.z(), v.head<2>().norm());
}

double FingerLength(const SceneFilter& scene, Side side, int base) {
  return (scene.HandShape(side, base + 3) - scene.HandShape(side, base)).norm() / scene.hand_length_m();
}

// About the vertical, so that the torso faces +y.
Eigen::Quaterniond Heading(const SceneFilter& scene) {
  const Eigen::Vector3d ahead = scene.q_WT() * Eigen::Vector3d::UnitY();
  return Eigen::Quaterniond(Eigen::AngleAxisd(std::atan2(-ahead.x(), ahead.y()), Eigen::Vector3d::UnitZ()));
}

}  // namespace

double PointingShape(const SceneFilter& scene, Side side) {
  const double index = (FingerLength(scene, side, 5) - kIndexShort) / (kIndexLong - kIndexShort);
  const double others = (FingerLength(scene, side, 9) + FingerLength(scene, side, 13) + FingerLength(scene, side, 17)) / 3;
  const double curled = (kOthersLong - others) / (kOthersLong - kOthersShort);
  return std::clamp(index, 0.0, 1.0) * std::clamp(curled, 0.0, 1.0);
}

double PointingAngle_rad(const SceneFilter& scene, Side side, const Eigen::Vector3d& p_W) {
  Eigen::Vector3d knuckles = Eigen::Vector3d::Zero();
  for (const int base : {5, 9, 13, 17}) knuckles += 0.25 * scene.HandShape(side, base);
  const Eigen::Vector3d finger = (scene.HandShape(side, 8) - scene.HandShape(side, 5)).normalized();
  const Eigen::Vector3d palm = (knuckles - scene.HandShape(side, 0)).normalized();
  // The palm's own direction steadies the finger's where both agree.
  const Eigen::Vector3d ray = finger.dot(palm) > kHandStraight ? Eigen::Vector3d(finger + palm) : finger;
  const Eigen::Vector3d to_prop = p_W - scene.HandCentre(side) - scene.HandShape(side, 8);
  return std::atan2(ray.cross(to_prop).norm(), ray.dot(to_prop));
}

void CueReader::Reset(const Stage& stage) {
  *this = CueReader();
  stage_ = &stage;
}

const Cues& CueReader::Update(const SceneFilter& scene) {
  const double elevation = Elevation_rad(scene.q_WHd() * Eigen::Vector3d::UnitY());
  head_up_ = elevation > (head_up_ ? kHeadDown_rad : kHeadUp_rad);
  FollowHands(scene);
  ReadPointing(scene);
  ReadRaised(scene);
  ReadWork(scene);
  ReadAddress(scene);
  ReadTorso(scene);
  return cues_;
}

bool AtHand(const SceneFilter& scene, size_t prop, Side side) {
  const auto& p = scene.props()[prop];
  return (p.p_WP - scene.HandCentre(side)).norm() < kInHand_m + 0.5 * p.extent_m;
}

/// A prop off its place and at the hand.
bool CueReader::Holds(const SceneFilter& scene, Side side) const {
  for (size_t i = 0; i < lay_.size(); ++i) {
    const auto& prop = scene.props()[i];
    if (lay_[i] && AtHand(scene, i, side) && (prop.p_WP - *lay_[i]).norm() > kOffItsPlace_m) return true;
  }
  return false;
}

void CueReader::FollowHands(const SceneFilter& scene) {
  const double dt_s = scene.dt_s();
  const Eigen::Quaterniond q_WY = Heading(scene);
  lay_.resize(scene.props().size());
  for (size_t i = 0; i < lay_.size(); ++i) {
    const auto& prop = scene.props()[i];
    if (prop.known && (!lay_[i] || (!AtHand(scene, i, kLeft) && !AtHand(scene, i, kRight)))) lay_[i] = prop.p_WP;
  }
  for (const Side side : {kLeft, kRight}) {
    const Eigen::Vector3d centre = scene.HandCentre(side);
    const Eigen::Vector3d p_Y = q_WY.conjugate() * (centre - scene.p_W(kPelvis));
    if (!started_) slow_centre_[side] = centre, slow_v_[side].setZero(), rest_[side] = p_Y;
    const double blend = 1 - std::exp(-dt_s / kSlow_s);
    const Eigen::Vector3d step = blend * (centre - slow_centre_[side]);
    slow_centre_[side] += step;
    if (dt_s > 0) slow_v_[side] += blend * (step / dt_s - slow_v_[side]);
    Weigh(&still_[side], slow_v_[side].norm() < kRestStill_mps ? 1 : -3, dt_s);
    const bool low = centre.z() < stage_->bench.height_m + kWorkHeight_m;
    // Where a hand waits with a tool in it is no place of rest.
    if (head_up_ && low && still_[side] > kRestStill_s && !Holds(scene, side))
      rest_[side] += (1 - std::exp(-dt_s / kRestTime_s)) * (p_Y - rest_[side]);
    const bool away = (p_Y - rest_[side]).norm() > kAway_m;
    Weigh(&away_[side], away ? 1 : -2, dt_s);
    Weigh(&in_use_[side], away ? 1 : -kReturn, dt_s);
    cues_.hands[side] = in_use_[side] > kAwayAfter_s;
  }
  started_ = true;
}

void CueReader::ReadPointing(const SceneFilter& scene) {
  aim_.resize(scene.props().size(), 0);
  const double dt_s = scene.dt_s();
  std::vector<double> likely(aim_.size(), 0);
  for (const Side side : {kLeft, kRight}) {
    const bool shaped = PointingShape(scene, side) > (extended_[side] > kExtendedAfter_s ? kPointingKept : kPointing);
    const bool shows = shaped && scene.HandVelocity(side).norm() < kStill_mps && scene.HandAge_s(side) < 0.5;
    Weigh(&extended_[side], shows ? 1 : -2, dt_s);
    if (extended_[side] < kExtendedAfter_s) continue;
    double total = 1e-9;
    std::vector<double> each(aim_.size(), 0);
    for (size_t i = 0; i < aim_.size(); ++i) {
      const auto& prop = scene.props()[i];
      if (!prop.known) continue;
      const double angle = PointingAngle_rad(scene, side, prop.p_WP);
      const double from_tip = (prop.p_WP - scene.HandCentre(side) - scene.HandShape(side, 8)).norm() - 0.3 * prop.extent_m;
      if (angle < kAimWidest_rad) each[i] = std::exp(-0.5 * std::pow(angle / kAimWidth_rad, 2));
      // A finger that means nothing in its own line means what is right before it.
      if (from_tip < kTouch_m) each[i] += kTouchShare * std::exp(-0.5 * std::pow(from_tip / kTouchWidth_m, 2));
      total += each[i];
    }
    for (size_t i = 0; i < aim_.size(); ++i) likely[i] = std::max(likely[i], each[i] / total);
  }
  int best = -1;
  const int now = scene.FindProp(cues_.pointed_at);
  for (size_t i = 0; i < aim_.size(); ++i) {
    Weigh(&aim_[i], likely[i] > 0.5 ? likely[i] : (likely[i] > 0 ? likely[i] - 0.5 : -2), dt_s);
    if (best < 0 || aim_[i] > aim_[static_cast<size_t>(best)]) best = static_cast<int>(i);
  }
  const bool holds = now >= 0 && aim_[static_cast<size_t>(now)] > 0;
  if (!holds) cues_.pointed_at.clear();
  if (best >= 0 && aim_[static_cast<size_t>(best)] > kPointAfter_s &&
      (!holds || aim_[static_cast<size_t>(best)] > aim_[static_cast<size_t>(now)] + kSwitchLead_s)) {
    cues_.pointed_at = scene.props()[static_cast<size_t>(best)].name;
  }
}

void CueReader::ReadRaised(const SceneFilter& scene) {
  lift_.resize(scene.props().size(), 0);
  cues_.raised.clear();
  double most = 0;
  since_raised_s_ += scene.dt_s();
  const double shoulders = 0.5 * (scene.p_W(kShoulderL).z() + scene.p_W(kShoulderR).z()) - stage_->bench.height_m;
  for (size_t i = 0; i < lift_.size(); ++i) {
    const auto& prop = scene.props()[i];
    const double height = prop.p_WP.z() - stage_->bench.height_m;
    const double to_hand = std::min((prop.p_WP - scene.HandCentre(kLeft)).norm(), (prop.p_WP - scene.HandCentre(kRight)).norm());
    const double least = lift_[i] > kRaisedAfter_s ? kLoweredShare : (head_up_ ? kRaisedShare : kShoulderShare);
    const bool high = prop.known && height > shoulders * least;
    const bool raised = high && to_hand < kInHand_m + 0.5 * prop.extent_m && prop.v_WP.norm() < kRaisedStill_mps;
    Weigh(&lift_[i], raised ? 1 : -2, scene.dt_s());
    if (lift_[i] > kRaisedAfter_s && lift_[i] + height > most) most = lift_[i] + height, cues_.raised = prop.name;
  }
  if (!cues_.raised.empty()) since_raised_s_ = 0;
}

void CueReader::ReadWork(const SceneFilter& scene) {
  cues_.working = false;
  for (const Side side : {kLeft, kRight}) {
    const bool low = scene.HandCentre(side).z() < stage_->bench.height_m + kWorkHeight_m;
    const bool works = away_[side] > kAwayAfter_s && !head_up_ && low && slow_v_[side].norm() < kTransport_mps &&
                       extended_[side] < kExtendedAfter_s;
    Weigh(&work_[side], works ? 1 : -1.5, scene.dt_s());
    if (work_[side] > kWorkAfter_s) cues_.working = true;
  }
}

void CueReader::ReadAddress(const SceneFilter& scene) {
  const bool rest = away_[kLeft] <= kAwayAfter_s && away_[kRight] <= kAwayAfter_s && slow_v_[kLeft].norm() < kStill_mps &&
                    slow_v_[kRight].norm() < kStill_mps;
  Weigh(&address_, rest && head_up_ ? 1 : -2, scene.dt_s());
  cues_.addressing = address_ > kAddressAfter_s;
}

void CueReader::ReadTorso(const SceneFilter& scene) {
  const Eigen::Vector3d right = scene.p_W(kShoulderR) - scene.p_W(kShoulderL);
  const double now_rad = std::atan2(right.y(), right.x());
  // The way round that is shorter.
  const double off_rad = std::remainder(now_rad - cues_.torso_rad, 2 * std::numbers::pi);
  cues_.torso_rad += (1 - std::exp(-scene.dt_s() / kTorsoCalm_s)) * off_rad;
  const bool aside = std::abs(cues_.torso_rad) > (cues_.turned ? kTurnedKept_rad : kTurned_rad);
  Weigh(&turned_, aside && head_up_ ? 1 : -2, scene.dt_s());
  cues_.turned = turned_ > (cues_.turned ? 0 : kTurnedAfter_s);
}

}  // namespace dryrig
