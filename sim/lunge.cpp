#include "sim/lunge.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

double LungeTravel_m(const Lunge& lunge, double since_s) {
  constexpr double kRamp_s = 0.04;
  // Up to speed, on, and back: a short way never gets there.
  const double ramp_s = std::min(kRamp_s, lunge.travel_m / lunge.speed_mps);
  const double peak = lunge.travel_m / std::max(ramp_s, lunge.travel_m / lunge.speed_mps);
  const double whole_s = lunge.travel_m / peak + ramp_s, t = std::clamp(since_s, 0.0, whole_s);
  const auto rising = [&](double s) { return 0.5 * peak * s * s / ramp_s; };
  if (t < ramp_s) return rising(t);
  if (t > whole_s - ramp_s) return lunge.travel_m - rising(whole_s - t);
  return rising(ramp_s) + peak * (t - ramp_s);
}

BodyPose WithLunges(const BodyPose& pose, const std::vector<Lunge>& lunges, double t_s) {
  Eigen::Vector3d moved = Eigen::Vector3d::Zero();
  for (const Lunge& lunge : lunges) {
    if (t_s > lunge.start_s) moved += LungeTravel_m(lunge, t_s - lunge.start_s) * lunge.way_W;
  }
  if (moved.isZero(0)) return pose;
  BodyPose out = pose;
  for (Eigen::Vector3d& p : out.p_W) p += moved;
  return out;
}

}  // namespace dryrig
