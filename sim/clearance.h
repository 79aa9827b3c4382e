#pragma once

#include <vector>

#include "scenes/arm.h"
#include "sim/body_pose.h"

namespace dryrig {

/// The nearest pair of an arm or camera body and a person's capsule at an instant.
struct Clearance {
  double distance_m = 0;
  int arm_body = -1;  // index in ArmBodies order
  int capsule = -1;   // index in PersonBody::capsules
  Eigen::Vector3d p_WArm = Eigen::Vector3d::Zero(), p_WPerson = Eigen::Vector3d::Zero();
};

/// Bodies of an arm in one order: base's first, then link by link; `link` -1 is the base. These are what can touch a person.
struct ArmBody {
  int link = -1;
  Body body;
};
std::vector<ArmBody> ArmBodies(const ArmModel& arm);

/// Exact nearest pair of a body that moves and a person's capsule; far pairs are passed over by bounding spheres. The base never
/// moves: who reaches past it is not approached by it. X_WL: one a link, in W. @pre base's bodies come first.
Clearance NearestToPerson(const std::vector<ArmBody>& bodies, const std::vector<Eigen::Isometry3d>& X_WL,
                          const PersonBody& person, const BodyPose& pose);

}  // namespace dryrig
