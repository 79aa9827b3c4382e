#pragma once

#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "scenes/bench.h"

namespace dryrig {

/// A place where an arm's base could be bolted.
struct MountPlace {
  std::string side;  // "back", "left", "right" of the bench, or "overhead", hanging
  Eigen::Vector3d at_m = Eigen::Vector3d::Zero();
  double yaw_rad = 0;  // x of the base toward the work: a point 0.15 m inside the middle of the front edge

  bool hangs() const { return side == "overhead"; }
  Eigen::Isometry3d X_WB() const;
  /// "back, x -400 mm, y 770 mm, z 1150 mm".
  std::string Text() const;
};

/// Mounts on a grid of `step_m`: on columns 0.05 m behind the far edge and beside both short sides, 0.05 to 0.65 m over the top,
/// and on a rail 0.9 to 1.3 m over it, above the far half. None where the base would stand in what is fixed to the bench.
std::vector<MountPlace> MountGrid(const Bench& bench, double step_m);

/// The bench's file with another mount in it. @throws InputError for a text without `mount`.
std::string WithMount(const std::string& bench_text, const MountPlace& place);

}  // namespace dryrig
