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

BodyPose WithLunges(BodyPose pose, const std::vector<Lunge>& lunges, double t_s) {
  for (const Lunge& lunge : lunges) {
    if (t_s <= lunge.start_s) continue;
    const Eigen::Vector3d moved = LungeTravel_m(lunge, t_s - lunge.start_s) * lunge.way_W;
    for (Eigen::Vector3d& p : pose.p_W) p += moved;
  }
  return pose;
}

}  // namespace dryrig
