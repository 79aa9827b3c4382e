#pragma once

#include <Eigen/Geometry>
#include <array>

#include "scenes/arm.h"

namespace dryrig {

inline constexpr int kMaxJoints = 8;
inline constexpr double kGravity_mps2 = 9.81;  // along -z of W

/// One value a joint, on the stack.
using JointVector = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMaxJoints, 1>;
using JointMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMaxJoints, kMaxJoints>;

/// Rigid-body dynamics of one arm on its mount, in fixed storage: M(q)·qdd + h(q, qd) = tau. Joint damping and friction are
/// not in it. Nothing here allocates.
class ArmDynamics {
 public:
  /// @throws InputError for more than kMaxJoints joints.
  ArmDynamics(const ArmModel& arm, const Eigen::Isometry3d& X_WB);

  int dof() const { return dof_; }
  /// Recursive Newton–Euler.
  void Torques(const JointVector& q, const JointVector& qd, const JointVector& qdd, JointVector* tau) const;
  /// Mass matrix by composite bodies, and h = Coriolis, centrifugal and gravity torques.
  void MassAndBias(const JointVector& q, const JointVector& qd, JointMatrix* M, JointVector* h) const;

 private:
  struct Part {  // one a link, in its own axes
    bool turns;
    Eigen::Vector3d axis, p_PJ, p_LCom, moment_O;  // moment_O: mass times p_LCom
    Eigen::Matrix3d R_PJ, K, KK;                   // K: cross product with the axis
    Eigen::Matrix3d I_Com, I_O;
    double mass;
  };
  struct Pose {
    Eigen::Matrix3d R_PL;
    Eigen::Vector3d p_PL;
  };
  using Poses = std::array<Pose, kMaxJoints>;

  void PosesAt(const JointVector& q, Poses* poses) const;
  void NewtonEuler(const Poses& poses, const JointVector& qd, const JointVector* qdd, JointVector* tau) const;

  int dof_;
  Eigen::Vector3d up_B_;  // acceleration that stands for gravity
  std::array<Part, kMaxJoints> parts_;
};

}  // namespace dryrig
