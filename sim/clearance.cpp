#include "sim/clearance.h"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "scenes/error.h"
#include "sim/distance.h"
#include "sim/solid.h"

namespace dryrig {

std::vector<ArmBody> ArmBodies(const ArmModel& arm) {
  std::vector<ArmBody> bodies;
  for (const Body& body : arm.base.bodies) bodies.push_back({-1, body});
  for (size_t link = 0; link < arm.links.size(); ++link) {
    for (const Body& body : arm.links[link].bodies) bodies.push_back({static_cast<int>(link), body});
  }
  return bodies;
}

Clearance NearestToPerson(const std::vector<ArmBody>& bodies, const Eigen::Isometry3d& X_WB,
                          const std::vector<Eigen::Isometry3d>& X_WL, const PersonBody& person, const BodyPose& pose) {
  Clearance nearest;
  nearest.distance_m = std::numeric_limits<double>::infinity();
  for (size_t i = 0; i < bodies.size(); ++i) {
    const ArmBody& part = bodies[i];
    const Solid solid = MakeSolid(part.body.shape, (part.link < 0 ? X_WB : X_WL[part.link]) * part.body.X_LS);
    for (size_t k = 0; k < person.capsules.size(); ++k) {
      const PersonCapsule& capsule = person.capsules[k];
      const Nearest now = DistanceOf(solid, MakeCapsule(pose.p_W[capsule.a], pose.p_W[capsule.b], capsule.radius_m));
      if (now.distance_m < nearest.distance_m)
        nearest = {now.distance_m, static_cast<int>(i), static_cast<int>(k), now.p_WA, now.p_WB};
    }
  }
  if (nearest.arm_body < 0) {
    throw RunError(
        fmt::format("clearance: no finite distance between {} arm bodies and {} capsules of the person; both need at least one",
                    bodies.size(), person.capsules.size()));
  }
  return nearest;
}

}  // namespace dryrig
