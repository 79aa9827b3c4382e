#include "sim/stopping.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kLeastShare = 0.1;

/// The ramp at both ends of a stop, and what is between them at full brake.
struct Phases {
  double ramp_s, hold_s;
};
Phases PhasesOf(double speed, double acceleration, double jerk) {
  const double ramp_s = acceleration / jerk;
  if (speed <= acceleration * ramp_s) return {std::sqrt(speed / jerk), 0};
  return {ramp_s, speed / acceleration - ramp_s};
}

}  // namespace

double StopTime_s(double speed, double acceleration, double jerk) {
  const Phases phases = PhasesOf(speed, acceleration, jerk);
  return 2 * phases.ramp_s + phases.hold_s;
}

double StopTravel(double speed, double acceleration, double jerk, double since_s) {
  const Phases phases = PhasesOf(speed, acceleration, jerk);
  const double whole_s = 2 * phases.ramp_s + phases.hold_s, t = std::clamp(since_s, 0.0, whole_s);
  // The speed is point-symmetric about the middle: the second half's travel is the whole less that of the same time left.
  if (t > 0.5 * whole_s) {
    const double left_s = whole_s - t;
    return 0.5 * speed * whole_s - (speed * left_s - StopTravel(speed, acceleration, jerk, left_s));
  }
  if (t <= phases.ramp_s) return speed * t - jerk * t * t * t / 6;
  const double ramp = phases.ramp_s, on = t - ramp, brake = jerk * ramp;
  const double speed_then = speed - 0.5 * brake * ramp;
  return speed * ramp - jerk * ramp * ramp * ramp / 6 + speed_then * on - 0.5 * brake * on * on;
}

JointVector StopPlan::At(const JointVector& q, double since_s) const {
  JointVector out = q;
  for (Eigen::Index j = 0; j < q.size(); ++j) {
    const double at_speed_s = std::clamp(since_s, 0.0, delay_s);
    const double gone =
        std::abs(speed[j]) * at_speed_s + StopTravel(std::abs(speed[j]), acceleration[j], jerk[j], since_s - delay_s);
    out[j] += std::copysign(gone, speed[j]);
  }
  return out;
}

JointVector StopPlan::Travel() const {
  return (At(JointVector::Zero(speed.size()), time_s())).cwiseAbs();
}

Stopper::Stopper(const ArmModel& arm, const Eigen::Isometry3d& X_WB) : dynamics_(arm, X_WB), delay_s_(arm.servo.latency_s) {
  const int n = arm.dof();
  acceleration_.resize(n), jerk_.resize(n), effort_.resize(n);
  for (int j = 0; j < n; ++j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    acceleration_[j] = joint.acceleration, jerk_[j] = joint.jerk, effort_[j] = joint.effort;
  }
}

StopPlan Stopper::Plan(const JointVector& q, const JointVector& qd) const {
  JointMatrix M;
  JointVector bias;
  dynamics_.MassAndBias(q, qd, &M, &bias);
  JointVector brake(q.size());
  for (Eigen::Index j = 0; j < q.size(); ++j)  // what a slow joint needs at most is less than its limit
    brake[j] = -std::copysign(std::min(acceleration_[j], std::sqrt(std::abs(qd[j]) * jerk_[j])), qd[j]);
  const JointVector inertial = M * brake;
  double share = 1;
  for (Eigen::Index j = 0; j < q.size(); ++j) {
    if (inertial[j] == 0) continue;
    const double room = inertial[j] > 0 ? effort_[j] - bias[j] : effort_[j] + bias[j];
    share = std::min(share, room / std::abs(inertial[j]));
  }
  StopPlan plan;
  plan.delay_s = delay_s_;
  plan.torque_share = std::clamp(share, kLeastShare, 1.0);
  plan.speed = qd;
  plan.acceleration = plan.torque_share * acceleration_;
  plan.jerk = plan.torque_share * jerk_;
  for (Eigen::Index j = 0; j < q.size(); ++j)
    plan.braking_s = std::max(plan.braking_s, StopTime_s(std::abs(qd[j]), plan.acceleration[j], plan.jerk[j]));
  return plan;
}

}  // namespace dryrig
