#include "policies/outside/limits.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "scenes/error.h"

namespace dryrig {

namespace {

void RequireNumber(double value, const std::string& what) {
  if (!std::isfinite(value)) throw RunError(fmt::format("{} is {}; it must be finite", what, value));
}
template <class V>
void RequireNumbers(const V& values, const char* what, const char* const* names = nullptr) {
  for (Eigen::Index i = 0; i < values.size(); ++i)
    RequireNumber(values(i), names != nullptr ? fmt::format("{}, {}", what, names[i]) : fmt::format("{}, element {}", what, i));
}

}  // namespace

void RequireWithinLimits(const Move& move, const Observation& seen) {
  static constexpr const char* kXyz[] = {"x", "y", "z"};
  const ArmModel& arm = seen.stage.arm;
  if (const auto* target = std::get_if<CameraTarget>(&move.motion)) {
    RequireNumbers(Eigen::Vector3d(target->X_WC.translation()), "camera target", kXyz);
    RequireNumbers(Eigen::Matrix3d(target->X_WC.linear()).reshaped(), "camera target's rotation");
    const Eigen::Matrix3d R = target->X_WC.linear();
    if (!(R * R.transpose()).isIdentity(1e-6) || R.determinant() < 0)
      throw RunError(
          fmt::format("camera target's rotation is not a rotation: its determinant is {:g}, and must be 1", R.determinant()));
    RequireNumbers(target->v_WC, "camera target's velocity", kXyz);
    RequireNumbers(target->w_WC, "camera target's angular velocity", kXyz);
  } else {
    const Eigen::VectorXd& q = std::get<JointTarget>(move.motion).q;
    if (q.size() != arm.dof())
      throw RunError(fmt::format("joint target has {} values, and the arm {} joints", q.size(), arm.dof()));
    for (int j = 0; j < arm.dof(); ++j) {
      const Joint& joint = arm.joints[static_cast<size_t>(j)];
      const char* unit = joint.kind == JointKind::kRevolute ? "rad" : "m";
      RequireNumber(q[j], fmt::format("target of joint {}", joint.name));
      if (q[j] < joint.lower - 1e-9 || q[j] > joint.upper + 1e-9) {
        throw RunError(fmt::format("target of joint {} is {:g} {}, outside its limits [{:g}, {:g}]", joint.name, q[j], unit,
                                   joint.lower, joint.upper));
      }
    }
  }
  const CameraBody& camera = seen.stage.camera;
  RequireNumber(move.focal_m, "focal length");
  if (move.focal_m < camera.focal_min_m - 1e-9 || move.focal_m > camera.focal_max_m + 1e-9) {
    throw RunError(fmt::format("focal length is {:g} mm, outside the lens's [{:g}, {:g}]", move.focal_m * 1e3,
                               camera.focal_min_m * 1e3, camera.focal_max_m * 1e3));
  }
  RequireNumber(move.focus_m, "focus distance");
  if (move.focus_m <= 0) throw RunError(fmt::format("focus distance is {:g} m; it must be above 0", move.focus_m));
  for (const Subject& subject : move.chosen.subjects) {
    if (subject.prop.empty()) continue;
    if (std::none_of(seen.props.begin(), seen.props.end(), [&](const TrackedProp& prop) { return prop.name == subject.prop; }))
      throw RunError(fmt::format("chosen shot is of prop \"{}\", which the lesson has not", subject.prop));
  }
}

}  // namespace dryrig
