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

}  // namespace dryrig
