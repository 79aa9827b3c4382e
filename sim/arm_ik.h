#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "scenes/arm.h"
#include "sim/arm_dynamics.h"
#include "sim/kinematics.h"

namespace dryrig {

/// Finds the posture inside joint bounds that brings the camera nearest to a pose: damped least squares, where 1 rad of wrong
/// aim counts as much as kAimLever_m of wrong place. Spare axes go toward the preferred posture.
class ArmIk {
 public:
  static constexpr double kAimLever_m = 2;

  ArmIk(const ArmModel& arm, const JointVector& lower, const JointVector& upper, const JointVector& preferred);

  struct Residual {
    double place_m = 0, aim_rad = 0;
  };
  /// Moves `q` toward the pose, at most so many iterations. True when it has settled: further ones would not move it.
  bool Improve(const Eigen::Isometry3d& X_BC, int iterations, JointVector* q);
  Residual ResidualAt(const Eigen::Isometry3d& X_BC, const JointVector& q);
  /// Joint velocity for a camera twist (linear, then angular, in B's axes), damped near singular postures.
  JointVector Rates(const JointVector& q, const Eigen::Matrix<double, 6, 1>& twist_B);

 private:
  using Vector6 = Eigen::Matrix<double, 6, 1>;
  Vector6 ErrorAt(const Eigen::Isometry3d& X_BC, const JointVector& q);
  /// From the posture of the last ErrorAt.
  JointVector StepFrom(const JointVector& q, const Vector6& error, double damping) const;

  const ArmModel* arm_;
  JointVector lower_, upper_, preferred_;
  Eigen::VectorXd posture_;              // reused by ErrorAt
  std::vector<Eigen::Isometry3d> X_BL_;  // at the last ErrorAt
};

}  // namespace dryrig
