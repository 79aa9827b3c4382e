#include "sim/tracker.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr double kDegree = std::numbers::pi / 180;
constexpr double kTurnMargin = 2 * kDegree, kSlideMargin_m = 0.005;
constexpr double kVelocityShare = 0.95;
constexpr double kGlideShare = 0.8;  // of acceleration and jerk that a planned glide uses
constexpr double kGlideVelocityShare = 0.9;
constexpr double kShortestGlide_s = 0.35;
constexpr double kLongestGlide_s = 8;
constexpr double kSameGoal = 1e-6;  // rad, m: a goal that moved less has not moved
constexpr double kPlaceTolerance_m = 0.02, kAimTolerance = 3 * kDegree;
constexpr double kWell = 0.005;  // times the tolerances: 0.1 mm and 0.015°, reached
constexpr int kIterationsNear = 4, kIterationsFar = 80;

bool Reached(const ArmIk::Residual& left, double share) {
  return left.place_m <= share * kPlaceTolerance_m && left.aim_rad <= share * kAimTolerance;
}

double Cost(const ArmIk::Residual& left) {
  return std::hypot(left.place_m, ArmIk::kAimLever_m * left.aim_rad);
}

/// Limits of the set point: inside the joint's own, yet never such that q0 is outside.
JointBounds RailBounds(const ArmModel& arm, int i, double q0) {
  const Joint& joint = arm.joints[i];
  if (!(q0 >= joint.lower && q0 <= joint.upper)) {
    throw InputError(
        fmt::format("arm {} joint {}: start at {} is outside [{}, {}]", arm.name, joint.name, q0, joint.lower, joint.upper));
  }
  if (!(joint.velocity > 0 && joint.acceleration > 0 && joint.jerk > 0)) {
    throw InputError(fmt::format("arm {} joint {}: velocity {}, acceleration {} and jerk limit {} must be positive", arm.name,
                                 joint.name, joint.velocity, joint.acceleration, joint.jerk));
  }
  const double margin =
      std::min(joint.kind == JointKind::kRevolute ? kTurnMargin : kSlideMargin_m, 0.05 * (joint.upper - joint.lower));
  constexpr double kRounding = 1 - 1e-9;  // so that sums of periods stay below the limit itself
  return {std::min(joint.lower + margin, q0), std::max(joint.upper - margin, q0), kVelocityShare * joint.velocity,
          kRounding * joint.acceleration, kRounding * joint.jerk};
}

std::vector<JointRail> MakeRails(const ArmModel& arm, const Eigen::VectorXd& q0, double period_s) {
  if (q0.size() != arm.dof())
    throw InputError(fmt::format("arm {}: start posture has {} of {} joints", arm.name, q0.size(), arm.dof()));
  std::vector<JointRail> rails;
  for (int i = 0; i < arm.dof(); ++i) rails.emplace_back(RailBounds(arm, i, q0[i]), q0[i], period_s);
  return rails;
}

JointVector Gather(const std::vector<JointRail>& rails, double JointBounds::*member) {
  JointVector out(static_cast<int>(rails.size()));
  for (int i = 0; i < out.size(); ++i) out[i] = rails[i].bounds().*member;
  return out;
}

}  // namespace

Tracker::Tracker(const Stage& stage, const Eigen::VectorXd& q0, double control_hz)
    : arm_(&stage.arm),
      X_WB_(stage.bench.X_WB),
      period_s_(1 / control_hz),
      rails_(MakeRails(stage.arm, q0, period_s_)),
      lower_(Gather(rails_, &JointBounds::lower).array() + kSameGoal),
      upper_(Gather(rails_, &JointBounds::upper).array() - kSameGoal),
      glide_(static_cast<int>(std::ceil(kLongestGlide_s * control_hz)), period_s_),
      ik_(stage.arm, lower_, upper_, stage.arm.home),
      goal_(q0),
      goal_rate_(JointVector::Zero(q0.size())),
      X_BGoal_(Eigen::Isometry3d::Identity()) {}

/// The same posture with each joint the whole turns off that bring it nearest to the goal sought so far.
JointVector Tracker::NearestTurns(JointVector q) const {
  constexpr double kTurn = 2 * std::numbers::pi;
  for (int i = 0; i < arm_->dof(); ++i) {
    if (arm_->joints[i].kind != JointKind::kRevolute) continue;
    const double turned = q[i] + kTurn * std::round((goal_[i] - q[i]) / kTurn);
    if (turned >= lower_[i] && turned <= upper_[i]) q[i] = turned;
  }
  return q;
}

void Tracker::SeekPose(const CameraTarget& target) {
  const Eigen::Isometry3d X_BC = X_WB_.inverse() * target.X_WC;
  const bool same = has_pose_ && X_BC.matrix().isApprox(X_BGoal_.matrix(), 1e-12);
  if (!same || !settled_) {
    JointVector q = goal_;
    settled_ = ik_.Improve(X_BC, kIterationsNear, &q);
    ArmIk::Residual left = ik_.ResidualAt(X_BC, q);
    if (!settled_ && !Reached(left, kWell)) {
      settled_ = ik_.Improve(X_BC, kIterationsFar, &q);
      left = ik_.ResidualAt(X_BC, q);
    }
    if (!Reached(left, kWell)) {
      // Stuck: the elbow or the wrist may have to turn over. From home most of what is in reach can be found.
      JointVector other = arm_->home;
      const bool other_settled = ik_.Improve(X_BC, kIterationsFar, &other);
      const ArmIk::Residual other_left = ik_.ResidualAt(X_BC, other);
      if (Cost(other_left) < 0.5 * Cost(left) && (other_settled || !Reached(left, 1))) {
        q = NearestTurns(other);
        left = other_left;
        settled_ = other_settled;
      }
    }
    if ((q - goal_).cwiseAbs().maxCoeff() > kSameGoal) goal_ = q;
    unreachable_ = !Reached(left, 1);
  }
  has_pose_ = true;
  X_BGoal_ = X_BC;
  Eigen::Matrix<double, 6, 1> twist_B;
  twist_B << X_WB_.linear().transpose() * target.v_WC, X_WB_.linear().transpose() * target.w_WC;
  goal_rate_.setZero();
  if (unreachable_ || twist_B.isZero(0)) return;
  goal_rate_ = ik_.Rates(goal_, twist_B);
  double over = 1;
  for (int i = 0; i < arm_->dof(); ++i) {
    over = std::max(over, std::abs(goal_rate_[i]) / (kGlideVelocityShare * rails_[i].bounds().velocity));
  }
  goal_rate_ /= over;
}

void Tracker::SeekPosture(const JointTarget& target) {
  const JointVector inside = JointVector(target.q).cwiseMax(lower_).cwiseMin(upper_);
  has_pose_ = settled_ = false;
  goal_rate_.setZero();
  if ((inside - goal_).cwiseAbs().maxCoeff() > kSameGoal) goal_ = inside;
  unreachable_ = false;
  if (inside == target.q) return;
  unreachable_ = !Reached(ik_.ResidualAt(CameraPose(*arm_, target.q), inside), 1);
}

/// The greatest share of its limits that any joint would use on the way; above 1 it asks for more than a glide may.
double Tracker::Strain(int periods) const {
  double most = 0;
  for (int i = 0; i < arm_->dof(); ++i) {
    const JointBounds& b = rails_[i].bounds();
    const PathState& now = rails_[i].now();
    // A joint already beyond its share may stay there.
    const double v_most = std::max(kGlideVelocityShare * b.velocity, std::abs(now.v));
    const double a_most = std::max(kGlideShare * b.acceleration, std::abs(now.a));
    const double step_most = kGlideShare * b.jerk * period_s_;
    PathState at{now.q - goal_[i], now.v - goal_rate_[i], now.a};
    for (int left = periods; left > 0; --left) {
      const double change = glide_.Change(left, at.q, at.v, at.a);
      at = Onward(at, at.a + change, period_s_);
      most = std::max({most, std::abs(change) / step_most, std::abs(at.a) / a_most, std::abs(at.v + goal_rate_[i]) / v_most});
      if (most > 4) return most;
    }
  }
  return most;
}

int Tracker::ShortestGlide(int at_least) const {
  int best = at_least;
  double least = std::numeric_limits<double>::infinity();
  for (int n = at_least; n <= glide_.most(); n += std::max(1, n / 10)) {
    const double strain = Strain(n);
    if (strain <= 1 + 1e-9) return n;
    if (strain < least) {
      least = strain;
      best = n;
    }
  }
  return best;
}

void Tracker::Follow(const Move& move) {
  const JointVector goal_before = goal_, rate_before = goal_rate_;
  if (const auto* pose = std::get_if<CameraTarget>(&move.motion)) {
    SeekPose(*pose);
  } else {
    SeekPosture(std::get<JointTarget>(move.motion));
  }

  const bool same = goal_ == goal_before && goal_rate_ == rate_before && goal_rate_.isZero(0);
  periods_left_ = std::max(0, periods_left_ - 1);
  if (!same || !on_path_) {
    const int shortest = static_cast<int>(std::ceil(kShortestGlide_s / period_s_));
    periods_left_ = ShortestGlide(std::max(shortest, periods_left_));
  }
  on_path_ = followed_ = true;
  for (int i = 0; i < arm_->dof(); ++i) {
    const PathState& now = rails_[i].now();
    const double wanted = now.a + glide_.Change(periods_left_, now.q - goal_[i], now.v - goal_rate_[i], now.a);
    const double chosen = rails_[i].Choose(wanted);
    if (chosen != wanted) on_path_ = false;
  }
}

void Tracker::Hold() {
  for (JointRail& rail : rails_) rail.Forget();
  followed_ = false;
}

void Tracker::At(double dt_s, JointSetPoint* out) const {
  const int n = arm_->dof();
  out->q.resize(n);
  out->qd.resize(n);
  out->qdd.resize(n);
  for (int i = 0; i < n; ++i) {
    const PathState& now = rails_[i].now();
    const double slope = (rails_[i].a_next() - now.a) / period_s_;
    out->q[i] = now.q + dt_s * (now.v + dt_s * (now.a / 2 + dt_s * slope / 6));
    out->qd[i] = now.v + dt_s * (now.a + dt_s * slope / 2);
    out->qdd[i] = now.a + dt_s * slope;
  }
}

void Tracker::Advance() {
  for (JointRail& rail : rails_) rail.Advance();
  on_path_ = on_path_ && followed_;
  followed_ = false;
}

}  // namespace dryrig
