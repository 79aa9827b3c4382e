#pragma once

#include <Eigen/Core>
#include <kdl/chain.hpp>

#include "scenes/arm.h"

namespace dryrig::outside {

inline KDL::Vector ToKdl(const Eigen::Vector3d& v) {
  return {v.x(), v.y(), v.z()};
}

/// The same arm as KDL has it.
inline KDL::Chain ChainOf(const ArmModel& arm) {
  KDL::Chain chain;
  for (int i = 0; i < arm.dof(); ++i) {
    const Joint& joint = arm.joints[static_cast<size_t>(i)];
    const Link& link = arm.links[static_cast<size_t>(i)];
    const Eigen::Matrix3d R = joint.X_PJ.linear(), I = link.I_LCom;
    const KDL::Rotation rotation(R(0, 0), R(0, 1), R(0, 2), R(1, 0), R(1, 1), R(1, 2), R(2, 0), R(2, 1), R(2, 2));
    const KDL::Vector at = ToKdl(joint.X_PJ.translation());
    const KDL::Joint moving(joint.name, at, rotation * ToKdl(joint.axis),
                            joint.kind == JointKind::kRevolute ? KDL::Joint::RotAxis : KDL::Joint::TransAxis);
    const KDL::RigidBodyInertia inertia(link.mass_kg, ToKdl(link.p_LCom),
                                        KDL::RotationalInertia(I(0, 0), I(1, 1), I(2, 2), I(0, 1), I(0, 2), I(1, 2)));
    chain.addSegment(KDL::Segment(link.name, moving, KDL::Frame(rotation, at), inertia));
  }
  return chain;
}

}  // namespace dryrig::outside
