#include "sim/faults.h"

#include <fmt/format.h>

#include "scenes/error.h"
#include "sim/motion.h"

namespace dryrig {

namespace {

constexpr double kShove_s = 0.4;
constexpr double kSeized = 10;  // times the effort: no drive turns it, and it stands within a few steps

}  // namespace

bool Faults::any() const {
  return stuck_joint > 0 || tracker_frozen_s > 0 || payload_kg > 0 || power_lost || !bench_m.isZero(0) || !lunges.empty();
}

std::vector<std::string> Faults::Told(const std::vector<std::string>& joint_names) const {
  std::vector<std::string> out;
  if (stuck_joint > 0)
    out.push_back(fmt::format("joint {} sticks from {:.2f} s on", joint_names.at(static_cast<size_t>(stuck_joint) - 1), at_s));
  if (tracker_frozen_s > 0)
    out.push_back(fmt::format("the tracker repeats what it saw at {:.2f} s for {:.2f} s", at_s, tracker_frozen_s));
  if (payload_kg > 0) out.push_back(fmt::format("the camera is {:.2f} kg heavier than declared", payload_kg));
  if (power_lost) {
    out.push_back(fmt::format("power is lost at {:.2f} s; brakes that bear {:.0f} % of the efforts close {:.2f} s later", at_s,
                              100 * brake_share, brake_delay_s));
  }
  if (!bench_m.isZero(0))
    out.push_back(fmt::format("the bench is shoved by ({:.3f}, {:.3f}) m within {} s from {:.2f} s on", bench_m.x(), bench_m.y(),
                              kShove_s, at_s));
  for (const Lunge& lunge : lunges)
    out.push_back(fmt::format("the person goes off at {:.2f} s, {:.2f} m at up to {:.2f} m/s", lunge.start_s, lunge.travel_m,
                              lunge.speed_mps));
  return out;
}

void RequireFits(const Faults& faults, const ArmModel& arm) {
  if (faults.stuck_joint > arm.dof()) {
    throw InputError(fmt::format("fault: joint {} is to stick, but arm {} has {} joints; name one of 1 to {}", faults.stuck_joint,
                                 arm.name, arm.dof(), arm.dof()));
  }
}

DriveState DriveStateAt(const Faults& faults, const ArmModel& arm, double t_s) {
  DriveState out{true, JointVector::Zero(arm.dof())};
  if (t_s < faults.at_s || (faults.stuck_joint == 0 && !faults.power_lost)) return out;
  out.powered = !faults.power_lost;
  for (int i = 0; i < arm.dof(); ++i) {
    const double effort = arm.joints[static_cast<size_t>(i)].effort;
    if (i + 1 == faults.stuck_joint)
      out.brake[i] = kSeized * effort;
    else if (faults.power_lost && t_s >= faults.at_s + faults.brake_delay_s)
      out.brake[i] = faults.brake_share * effort;
  }
  return out;
}

ArmModel LoadedArm(ArmModel arm, const CameraBody& camera, double payload_kg) {
  if (payload_kg <= 0) return arm;
  Link& link = arm.links.back();
  const double mass_kg = link.mass_kg + payload_kg;
  const Eigen::Vector3d p_LLoad = arm.X_EC * camera.p_CHousing;
  const Eigen::Vector3d p_LCom = (link.mass_kg * link.p_LCom + payload_kg * p_LLoad) / mass_kg;
  const auto about = [](double kg, const Eigen::Vector3d& r) -> Eigen::Matrix3d {
    return kg * (r.squaredNorm() * Eigen::Matrix3d::Identity() - r * r.transpose());
  };
  link.I_LCom += about(link.mass_kg, link.p_LCom - p_LCom) + about(payload_kg, p_LLoad - p_LCom);
  link.p_LCom = p_LCom;
  link.mass_kg = mass_kg;
  return arm;
}

Eigen::Vector3d BenchMoved(const Faults& faults, double t_s) {
  const Eigen::Vector2d moved = MinJerk((t_s - faults.at_s) / kShove_s) * faults.bench_m;
  return {moved.x(), moved.y(), 0};
}

Eigen::Vector3d BenchAcceleration(const Faults& faults, double t_s) {
  const double tau = (t_s - faults.at_s) / kShove_s;
  if (tau <= 0 || tau >= 1) return Eigen::Vector3d::Zero();
  const double bend = tau * (60 + tau * (-180 + 120 * tau));  // MinJerk's second derivative
  const Eigen::Vector2d a = bend / (kShove_s * kShove_s) * faults.bench_m;
  return {a.x(), a.y(), 0};
}

BodyPose SeenFromBench(const Faults& faults, BodyPose pose, double t_s) {
  if (faults.bench_m.isZero(0) || t_s <= faults.at_s) return pose;
  const Eigen::Vector3d moved = BenchMoved(faults, t_s);
  for (Eigen::Vector3d& p : pose.p_W) p -= moved;
  return pose;
}

}  // namespace dryrig
