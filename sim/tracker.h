#pragma once

#include <Eigen/Geometry>

#include "scenes/stage.h"
#include "sim/arm_world.h"
#include "sim/policy.h"

namespace dryrig {

/// Turns Moves into joint set points under position, velocity, acceleration and jerk limits. The acceleration is linear in
/// time between control ticks, so the set point does not depend on the physics rate.
class Tracker {
 public:
  Tracker(const Stage& stage, const Eigen::VectorXd& q0, double control_hz);

  /// A new control period begins: choose its acceleration ramp.
  void Follow(const Move& move);
  /// Set point `dt_s` into the present period, [0, 1/control_hz].
  void At(double dt_s, JointSetPoint* out) const;
  /// Ends the period: its end becomes the next one's start.
  void Advance();
  /// The last Move's target could not be reached (farther than 20 mm or 3° at the nearest posture found).
  bool unreachable() const { return unreachable_; }

 private:
  const ArmModel* arm_;
  Eigen::Isometry3d X_WB_;
  double period_s_;
  Eigen::VectorXd q_, qd_, qdd_, qdd_next_;
  bool unreachable_ = false;
};

}  // namespace dryrig
