#include "policies/arm_pilot.h"

#include <algorithm>
#include <cmath>

#include "policies/way_round.h"

namespace dryrig {

namespace {

constexpr double kVelocityShare = 0.9, kAccelerationShare = 0.85;
constexpr double kBrakeShare = 0.5;    // of the acceleration, for coming to rest at the goal
constexpr double kSettle_s = 0.12;     // time constant of the last bit
constexpr double kLead_s = 0.12;       // of the tracker's lag behind a moving posture, made up for
constexpr double kForesight_s = 0.25;  // how far ahead the arm's own motion is checked
constexpr double kDanger = 1.5;  // guard residuals' root from which on the way is bent, fully so from one more on: without a
                                 // step, or the arm would tremble about it
constexpr double kPush_1_s = 0.15, kPushMost = 1.2;  // rad/s, away from danger
constexpr double kArrived_rad = 0.25;

}  // namespace

void ArmPilot::Reset(const ViewSolver& solver, const Stage& stage, double pace) {
  *this = ArmPilot();
  solver_ = &solver;
  arm_ = &stage.arm;
  still_.emplace(stage);
  pace_ = pace;
}

// Straight toward the target: the joint with the longest way sets the time, and each slows down so that it can stop there.
Eigen::VectorXd ArmPilot::SpeedToward(const Eigen::VectorXd& target) const {
  const Eigen::VectorXd way = target - q_;
  double time_s = kSettle_s;
  for (int i = 0; i < way.size(); ++i) {
    const Joint& joint = arm_->joints[static_cast<size_t>(i)];
    const double d = std::abs(way[i]);
    time_s = std::max(
        {time_s, d / (pace_ * kVelocityShare * joint.velocity), std::sqrt(d / (pace_ * kBrakeShare * joint.acceleration))});
  }
  return way / time_s;
}

void ArmPilot::Plan(const Eigen::VectorXd& goal, const PersonGuess& person) {
  via_.resize(0);
  if (q_.size() > 0) via_ = WayRound(*solver_, q_, goal, person);
}

Eigen::VectorXd ArmPilot::Step(const Eigen::VectorXd& q, const Eigen::VectorXd& goal, const PersonGuess& person, double dt_s) {
  if (q_.size() == 0) q_ = q, v_ = Eigen::VectorXd::Zero(q.size());
  if (via_.size() > 0) {
    const bool there = (q_ - via_).cwiseAbs().maxCoeff() < kArrived_rad;
    if (there || solver_->TooNearOnPath(person, q_, goal) < kFreePath) via_.resize(0);
  }
  far_ = (q_ - goal).cwiseAbs().maxCoeff();
  Eigen::VectorXd wish = SpeedToward(via_.size() > 0 ? via_ : goal);

  const Eigen::VectorXd soon = solver_->Clamped(q_ + kForesight_s * v_);
  const double danger = std::sqrt(solver_->TooNear(person, soon)) - kDanger;
  if (danger > 0) {
    // Give up what leads nearer, and back off.
    const Eigen::VectorXd uphill = solver_->TooNearSlope(person, soon);
    const double slope = uphill.norm();
    if (slope > 1e-9) {
      const Eigen::VectorXd up = uphill / slope;
      const double nearer = wish.dot(up);
      if (nearer > 0) wish -= std::min(danger, 1.0) * nearer * up;
      wish -= std::min(kPushMost, kPush_1_s * danger) * up;
    }
  }
  wish = still_->Slowed(q_, wish);

  const Eigen::VectorXd change = wish - v_;
  double share = 1;
  for (int i = 0; i < change.size(); ++i) {
    const double most = pace_ * kAccelerationShare * arm_->joints[static_cast<size_t>(i)].acceleration * dt_s;
    if (std::abs(change[i]) > most) share = std::min(share, most / std::abs(change[i]));
  }
  const Eigen::VectorXd before = v_;
  v_ = still_->Slowed(q_, v_ + share * change);
  const Eigen::VectorXd next = q_ + 0.5 * dt_s * (before + v_);
  q_ = solver_->Clamped(next);
  for (int i = 0; i < q_.size(); ++i) {
    if (q_[i] != next[i]) v_[i] = 0;
  }
  return solver_->Clamped(q_ + kLead_s * v_);
}

}  // namespace dryrig
