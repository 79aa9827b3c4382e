#pragma once

#include <Eigen/Core>
#include <vector>

namespace dryrig {

/// Minimum-jerk motion in whole control periods: of all ways to be at rest at the goal (in the goal's own moving frame) after n
/// periods, the one with the least sum of squared jerk. The way is a linear law of the state, and following it one period leaves
/// the way for n - 1. Smoothest point-to-point motion: Flash & Hogan, J. Neurosci. 5 (1985).
class Glide {
 public:
  Glide(int most_periods, double period_s);

  int most() const { return static_cast<int>(gains_.size()) - 1; }
  /// Change of acceleration over the next period, for the offset from the goal in position, velocity and acceleration.
  double Change(int periods, double q, double v, double a) const {
    const Eigen::Vector3d& g = gains_[static_cast<size_t>(periods)];
    return -(g[0] * q + g[1] * v + g[2] * a);
  }

 private:
  std::vector<Eigen::Vector3d> gains_;  // by periods left
};

}  // namespace dryrig
