#include "metrics/pair_motion.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

/// The two frames around a time, or the last two. @pre two frames at least
size_t FrameBefore(const Take& take, double t_s) {
  const auto k = static_cast<size_t>(std::max(0.0, std::floor(t_s * take.id.frame_hz + 1e-9)));
  return std::min(k, take.frames.size() - 2);
}

}  // namespace

bool HasPair(const TakeTick& tick) {
  return tick.clearance.arm_body >= 0 && tick.clearance.capsule >= 0;
}

std::string PairName(const Take& take, const TakeTick& tick) {
  return take.person.capsules[static_cast<size_t>(tick.clearance.capsule)].name + " – " +
         take.arm_bodies[static_cast<size_t>(tick.clearance.arm_body)].body.name;
}

double RelativeSpeed_mps(const Take& take, size_t tick) {
  if (take.frames.size() < 2) return 0;
  const Clearance& near = take.ticks[tick].clearance;
  const size_t k = FrameBefore(take, static_cast<double>(tick) / take.id.physics_hz);
  const TakeFrame& before = take.frames[k];
  const TakeFrame& after = take.frames[k + 1];

  Eigen::Vector3d arm_moved = Eigen::Vector3d::Zero();
  if (const int link = take.arm_bodies[static_cast<size_t>(near.arm_body)].link; link >= 0) {
    const Eigen::Vector3d p_LArm = before.X_WL[static_cast<size_t>(link)].inverse() * near.p_WArm;
    arm_moved = after.X_WL[static_cast<size_t>(link)] * p_LArm - near.p_WArm;
  }
  const PersonCapsule& capsule = take.person.capsules[static_cast<size_t>(near.capsule)];
  const Eigen::Vector3d& a = before.person.p_W[static_cast<size_t>(capsule.a)];
  const Eigen::Vector3d& b = before.person.p_W[static_cast<size_t>(capsule.b)];
  const double squared = (b - a).squaredNorm();
  const double share = squared > 0 ? std::clamp((near.p_WPerson - a).dot(b - a) / squared, 0.0, 1.0) : 0.0;
  const Eigen::Vector3d person_moved = (1 - share) * (after.person.p_W[static_cast<size_t>(capsule.a)] - a) +
                                       share * (after.person.p_W[static_cast<size_t>(capsule.b)] - b);
  return (arm_moved - person_moved).norm() * take.id.frame_hz;
}

double FastestBody_mps(const Take& take, double t_s) {
  if (take.frames.size() < 2) return 0;
  const size_t k = FrameBefore(take, t_s);
  double fastest = 0;
  for (const ArmBody& body : take.arm_bodies) {
    if (body.link < 0) continue;
    const auto link = static_cast<size_t>(body.link);
    const Eigen::Vector3d p_LS = body.body.X_LS.translation();
    fastest = std::max(fastest, (take.frames[k + 1].X_WL[link] * p_LS - take.frames[k].X_WL[link] * p_LS).norm());
  }
  return fastest * take.id.frame_hz;
}

}  // namespace dryrig
