#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "metrics/footage.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

[[noreturn]] void Refuse(const Take& take, const std::string& what) {
  throw RunError(fmt::format("take {} / {} / seed {} cannot be scored: {}", take.id.lesson, take.id.policy, take.id.seed, what));
}

bool Finite(const Eigen::Isometry3d& X) {
  return X.matrix().allFinite();
}

void RequireWholeIntents(const Take& take) {
  for (size_t n = 0; n < take.intents.size(); ++n) {
    const TimedIntent& intent = take.intents[n];
    if (!(std::isfinite(intent.start_s) && std::isfinite(intent.end_s) && intent.end_s > intent.start_s)) {
      Refuse(take, fmt::format("intent {} runs from {} s to {} s", n, intent.start_s, intent.end_s));
    }
    if (intent.shot.subjects.empty()) Refuse(take, fmt::format("intent {} has no subject", n));
    for (const Subject& subject : intent.shot.subjects) {
      const bool known =
          subject.prop.empty() ||
          std::any_of(take.props.begin(), take.props.end(), [&](const TakeProp& p) { return p.name == subject.prop; });
      if (!known) Refuse(take, fmt::format("intent {} asks for prop \"{}\", which the take has not", n, subject.prop));
    }
  }
}

void RequireWholeFrame(const Take& take, size_t i, size_t links) {
  const TakeFrame& frame = take.frames[i];
  const auto refuse = [&](const std::string& what) { Refuse(take, fmt::format("frame {}: {}", i, what)); };
  if (frame.X_WP.size() != take.props.size())
    refuse(fmt::format("{} prop poses for {} props", frame.X_WP.size(), take.props.size()));
  if (frame.X_WL.size() < links) refuse(fmt::format("{} link poses, {} needed", frame.X_WL.size(), links));
  if (!Finite(frame.X_WC)) refuse("camera pose is not finite");
  if (!(frame.lens.focal_m > 0 && std::isfinite(frame.lens.focal_m)))
    refuse(fmt::format("focal length is {} m", frame.lens.focal_m));
  if (!(frame.lens.focus_m > 0)) refuse(fmt::format("focus distance is {} m", frame.lens.focus_m));
  if (!std::isfinite(frame.manipulability)) refuse("manipulability is not finite");
  for (const Eigen::Vector3d& p : frame.person.p_W) {
    if (!p.allFinite()) refuse("a point of the person is not finite");
  }
  if (!frame.person.q_WT.coeffs().allFinite() || !frame.person.q_WHd.coeffs().allFinite())
    refuse("the person's turn is not finite");
  if (!std::all_of(frame.X_WP.begin(), frame.X_WP.end(), Finite)) refuse("a prop's pose is not finite");
  if (!std::all_of(frame.X_WL.begin(), frame.X_WL.end(), Finite)) refuse("a link's pose is not finite");
}

void RequireWholeTick(const Take& take, size_t i) {
  const TakeTick& tick = take.ticks[i];
  const auto refuse = [&](const std::string& what) { Refuse(take, fmt::format("tick {}: {}", i, what)); };
  if (!tick.p_WC.allFinite() || !tick.q_WC.coeffs().allFinite()) refuse("camera pose is not finite");
  const auto dof = static_cast<Eigen::Index>(take.joints.size());
  if (tick.q.size() != dof || tick.qd.size() != dof || tick.q_wish.size() != dof || tick.torque.size() != dof) {
    refuse(fmt::format("joint values for another arm than its {} joints", dof));
  }
  if (!tick.q.allFinite() || !tick.qd.allFinite() || !tick.q_wish.allFinite() || !tick.torque.allFinite()) {
    refuse("a joint value is not finite");
  }
  if (tick.clearance.capsule >= static_cast<int>(take.person.capsules.size()) ||
      tick.clearance.arm_body >= static_cast<int>(take.arm_bodies.size())) {
    refuse("its nearest pair names a body that is not there");
  }
  const bool has_pair = tick.clearance.capsule >= 0 && tick.clearance.arm_body >= 0;
  if (has_pair && (!std::isfinite(tick.clearance.distance_m) || !std::isfinite(tick.approach_mps)))
    refuse("its clearance is not finite");
}

}  // namespace

void RequireWhole(const Take& take) {
  const auto rate_ok = [](double hz) { return std::isfinite(hz) && hz > 0; };
  if (!rate_ok(take.id.physics_hz) || !rate_ok(take.id.frame_hz)) {
    Refuse(take, fmt::format("rates are {} and {} Hz", take.id.physics_hz, take.id.frame_hz));
  }
  if (!(take.camera.sensor_width_m > 0 && take.camera.sensor_height_m > 0 && take.camera.width_px > 0 &&
        take.camera.height_px > 0)) {
    Refuse(take, "its camera has no sensor");
  }
  size_t links = 0;
  for (const ArmBody& body : take.arm_bodies) links = std::max(links, static_cast<size_t>(body.link + 1));
  RequireWholeIntents(take);
  for (size_t i = 0; i < take.frames.size(); ++i) RequireWholeFrame(take, i, links);
  for (size_t i = 0; i < take.ticks.size(); ++i) RequireWholeTick(take, i);
}

}  // namespace dryrig
