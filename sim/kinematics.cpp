#include "sim/kinematics.h"

#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

namespace dryrig {

namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

constexpr int kMostJoints = 8;

/// As LinkPoses, into an array of at least dof places.
template <class Poses>
void FillPoses(const ArmModel& arm, const Eigen::VectorXd& q, Poses* X_BL) {
  for (int i = 0; i < arm.dof(); ++i) {
    const Joint& joint = arm.joints[size_t(i)];
    Isometry3d& X = (*X_BL)[size_t(i)];
    if (i == 0) {
      X = joint.X_PJ;
    } else {
      const Isometry3d& X_BP = (*X_BL)[size_t(i - 1)];
      X.linear().noalias() = X_BP.linear() * joint.X_PJ.linear();
      X.translation() = X_BP.translation() + X_BP.linear() * joint.X_PJ.translation();
      X.makeAffine();
    }
    if (joint.kind == JointKind::kRevolute) {
      const Eigen::Matrix3d turn = Eigen::AngleAxisd(q[i], joint.axis).toRotationMatrix();
      X.linear() = (X.linear() * turn).eval();
    } else {
      X.translation() += X.linear() * (q[i] * joint.axis);
    }
  }
}

/// Columns of the joints up to `link`; those beyond do not move the point.
template <class Poses>
Jacobian Columns(const ArmModel& arm, const Poses& X_BL, int link, const Vector3d& p_BX) {
  Jacobian J = Jacobian::Zero(6, arm.dof());
  for (int i = 0; i <= link; ++i) {
    const Joint& joint = arm.joints[size_t(i)];
    const Isometry3d& X = X_BL[size_t(i)];
    const Vector3d axis_B = X.linear() * joint.axis;  // a joint's own motion leaves its axis where it is
    if (joint.kind == JointKind::kRevolute) {
      J.block<3, 1>(0, i) = axis_B.cross(p_BX - X.translation());
      J.block<3, 1>(3, i) = axis_B;
    } else {
      J.block<3, 1>(0, i) = axis_B;
    }
  }
  return J;
}

}  // namespace

Isometry3d JointMotion(const Joint& joint, double q) {
  Isometry3d X = Isometry3d::Identity();
  if (joint.kind == JointKind::kRevolute) {
    X.linear() = Eigen::AngleAxisd(q, joint.axis).toRotationMatrix();
  } else {
    X.translation() = q * joint.axis;
  }
  return X;
}

void LinkPoses(const ArmModel& arm, const Eigen::VectorXd& q, std::vector<Isometry3d>* out) {
  out->resize(size_t(arm.dof()));
  FillPoses(arm, q, out);
}

Isometry3d CameraPose(const ArmModel& arm, const Eigen::VectorXd& q) {
  std::array<Isometry3d, kMostJoints> X_BL;
  FillPoses(arm, q, &X_BL);
  return X_BL[size_t(arm.dof() - 1)] * arm.X_EC;
}

Jacobian CameraJacobian(const ArmModel& arm, const Eigen::VectorXd& q) {
  std::array<Isometry3d, kMostJoints> X_BL;
  FillPoses(arm, q, &X_BL);
  const int last = arm.dof() - 1;
  return Columns(arm, X_BL, last, X_BL[size_t(last)] * arm.X_EC.translation());
}

Jacobian PointJacobian(const ArmModel& arm, const std::vector<Isometry3d>& X_BL, int link, const Vector3d& p_BX) {
  return Columns(arm, X_BL, link, p_BX);
}

double Manipulability(const Jacobian& J) {
  // The smaller of the two Gram matrices: with fewer than six joints J·Jᵀ is singular in every posture and would tell nothing.
  using Gram = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, 8, 8>;
  const Gram gram = J.cols() < 6 ? Gram(J.transpose() * J) : Gram(J * J.transpose());
  return std::sqrt(std::max(0.0, gram.determinant()));
}

}  // namespace dryrig
