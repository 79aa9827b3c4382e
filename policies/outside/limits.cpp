#include "policies/outside/limits.h"

#include <fmt/format.h>

#include <algorithm>

#include "scenes/error.h"

namespace dryrig {

void RequireWithinLimits(const Move& move, const Observation& seen) {
  RequireSound(move, seen);
  const ArmModel& arm = seen.stage.arm;
  if (const auto* target = std::get_if<JointTarget>(&move.motion)) {
    for (int j = 0; j < arm.dof(); ++j) {
      const Joint& joint = arm.joints[static_cast<size_t>(j)];
      const double q = target->q[j];
      if (q < joint.lower - 1e-9 || q > joint.upper + 1e-9) {
        throw RunError(fmt::format("target of joint {} is {:g} {}, outside its limits [{:g}, {:g}]", joint.name, q,
                                   joint.kind == JointKind::kRevolute ? "rad" : "m", joint.lower, joint.upper));
      }
    }
  }
  const CameraBody& camera = seen.stage.camera;
  if (move.focal_m < camera.focal_min_m - 1e-9 || move.focal_m > camera.focal_max_m + 1e-9) {
    throw RunError(fmt::format("focal length is {:g} mm, outside the lens's [{:g}, {:g}]", move.focal_m * 1e3,
                               camera.focal_min_m * 1e3, camera.focal_max_m * 1e3));
  }
  for (const Subject& subject : move.chosen.subjects) {
    if (subject.prop.empty()) continue;
    if (std::none_of(seen.props.begin(), seen.props.end(), [&](const TrackedProp& prop) { return prop.name == subject.prop; }))
      throw RunError(fmt::format("chosen shot is of prop \"{}\", which the lesson has not", subject.prop));
  }
}

}  // namespace dryrig
