#include "sim/policy.h"

#include <fmt/format.h>

#include "scenes/error.h"

namespace dryrig {

namespace {

void RequireFinite(bool finite, const char* what, double t_s) {
  if (!finite) throw RunError(fmt::format("policy at t = {:.3f} s: {} is not finite", t_s, what));
}

void Require(bool holds, const char* what, double t_s) {
  if (!holds) throw RunError(fmt::format("policy at t = {:.3f} s: {}", t_s, what));
}

}  // namespace

Move Policy::Decide(const Observation& seen) {
  RequireFinite(std::isfinite(seen.t_s), "observed time", seen.t_s);
  RequireFinite(seen.arm.q.allFinite() && seen.arm.qd.allFinite(), "observed arm state", seen.t_s);
  for (const TrackedPoint& point : seen.person.points) RequireFinite(point.p_W.allFinite(), "a tracked point", seen.t_s);
  Move move = DoDecide(seen);
  RequireSound(move, seen);
  return move;
}

void RequireSound(const Move& move, const Observation& seen) {
  if (const auto* target = std::get_if<CameraTarget>(&move.motion)) {
    RequireFinite(target->X_WC.matrix().allFinite(), "camera target", seen.t_s);
    RequireFinite(target->v_WC.allFinite() && target->w_WC.allFinite(), "camera target's velocity", seen.t_s);
    const Eigen::Matrix3d R = target->X_WC.linear();
    Require((R * R.transpose()).isIdentity(1e-6) && R.determinant() > 0, "camera target's rotation is not a rotation", seen.t_s);
  } else {
    const auto& joints = std::get<JointTarget>(move.motion);
    Require(joints.q.size() == seen.arm.q.size(), "joint target has not one value a joint", seen.t_s);
    RequireFinite(joints.q.allFinite(), "joint target", seen.t_s);
  }
  RequireFinite(std::isfinite(move.focal_m), "focal length", seen.t_s);
  RequireFinite(std::isfinite(move.focus_m), "focus distance", seen.t_s);
  Require(move.focus_m > 0, "focus distance is not positive", seen.t_s);
  Require(!move.chosen.subjects.empty(), "chosen shot has no subject", seen.t_s);
}

}  // namespace dryrig
