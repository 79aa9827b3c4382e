#include "sim/arm_span.h"

namespace dryrig {

JointVector SpanOf(const ArmModel& arm, const ArmBody& body) {
  JointVector span = JointVector::Zero(arm.dof());
  // From the body inward: what lies between a joint's own frame and the body's farthest point.
  double out_m = body.body.X_LS.translation().norm() + body.body.shape.BoundingRadius();
  for (int j = body.link; j >= 0; --j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    span[j] = joint.kind == JointKind::kRevolute ? out_m : 1;
    if (joint.kind == JointKind::kPrismatic) out_m += std::max(std::abs(joint.lower), std::abs(joint.upper));
    out_m += joint.X_PJ.translation().norm();
  }
  return span;
}

PointRows PointRowsAt(const ArmModel& arm, const std::vector<Eigen::Isometry3d>& X_WL, int link, const Eigen::Vector3d& p_W) {
  PointRows J = PointRows::Zero(3, arm.dof());
  for (int j = 0; j <= link; ++j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    const Eigen::Isometry3d& X_WJ = X_WL[static_cast<size_t>(j)];
    const Eigen::Vector3d axis_W = X_WJ.linear() * joint.axis;
    J.col(j) = joint.kind == JointKind::kRevolute ? Eigen::Vector3d(axis_W.cross(p_W - X_WJ.translation())) : axis_W;
  }
  return J;
}

double MostSpeed_mps(const ArmModel& arm, const std::vector<Eigen::Isometry3d>& X_WL, int link, const Eigen::Vector3d& middle_W,
                     double radius_m, const JointVector& qd) {
  Eigen::Vector3d turning = Eigen::Vector3d::Zero();
  for (int j = 0; j <= link; ++j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    if (joint.kind == JointKind::kRevolute) turning += X_WL[static_cast<size_t>(j)].linear() * joint.axis * qd[j];
  }
  return (PointRowsAt(arm, X_WL, link, middle_W) * qd).norm() + turning.norm() * radius_m;
}

}  // namespace dryrig
