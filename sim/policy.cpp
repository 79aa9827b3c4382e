#include "sim/policy.h"

#include <fmt/format.h>

#include "scenes/error.h"

namespace dryrig {

namespace {

void RequireNumber(double value, std::string_view what) {
  if (!std::isfinite(value)) throw RunError(fmt::format("{} is {}; it must be finite", what, value));
}
void RequireVector(const Eigen::Vector3d& v, const char* what) {
  if (v.allFinite()) return;
  for (int i = 0; i < 3; ++i) RequireNumber(v[i], fmt::format("{}, {}", what, "xyz"[i]));
}

void RequireSane(const Observation& seen) {
  RequireNumber(seen.t_s, "observed time");
  if (!seen.arm.q.allFinite() || !seen.arm.qd.allFinite()) throw RunError("observed arm state is not finite");
  for (const TrackedPoint& point : seen.person.points) RequireVector(point.p_W, "a tracked point");
}

/// Runs `check`; what it throws says when.
template <class Check>
void At(double t_s, Check check) {
  try {
    check();
  } catch (const RunError& error) {
    throw RunError(fmt::format("policy at t = {:.3f} s: {}", t_s, error.what()));
  }
}

}  // namespace

Move Policy::Decide(const Observation& seen) {
  At(seen.t_s, [&] { RequireSane(seen); });
  Move move = DoDecide(seen);
  At(seen.t_s, [&] { RequireSound(move, seen); });
  return move;
}

void RequireSound(const Move& move, const Observation& seen) {
  if (const auto* target = std::get_if<CameraTarget>(&move.motion)) {
    const Eigen::Matrix3d R = target->X_WC.linear();
    RequireVector(target->X_WC.translation(), "camera target");
    for (int i = 0; i < 3; ++i) RequireVector(R.col(i), "camera target's rotation");
    if (!(R * R.transpose()).isIdentity(1e-6) || R.determinant() < 0) {
      throw RunError(
          fmt::format("camera target's rotation is not a rotation: its determinant is {:g}, and must be 1", R.determinant()));
    }
    RequireVector(target->v_WC, "camera target's velocity");
    RequireVector(target->w_WC, "camera target's angular velocity");
  } else {
    const auto& q = std::get<JointTarget>(move.motion).q;
    const std::vector<Joint>& joints = seen.stage.arm.joints;
    if (q.size() != static_cast<Eigen::Index>(joints.size()))
      throw RunError(fmt::format("joint target has {} values, and the arm {} joints", q.size(), joints.size()));
    for (size_t j = 0; j < joints.size() && !q.allFinite(); ++j)
      RequireNumber(q[static_cast<Eigen::Index>(j)], fmt::format("target of joint {}", joints[j].name));
  }
  RequireNumber(move.focal_m, "focal length");
  RequireNumber(move.focus_m, "focus distance");
  if (move.focus_m <= 0) throw RunError(fmt::format("focus distance is {:g} m; it must be above 0", move.focus_m));
  if (move.chosen.subjects.empty()) throw RunError("chosen shot has no subject");
}

}  // namespace dryrig
