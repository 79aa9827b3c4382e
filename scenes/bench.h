#pragma once

#include <Eigen/Geometry>
#include <filesystem>
#include <string>
#include <vector>

#include "scenes/shape.h"

namespace dryrig {

/// The still part of the scene. World W: origin on the floor below the middle of the bench's front edge (the instructor's
/// edge); x to the instructor's right, y away from the instructor across the bench, z up. Bench coordinates: x and y of W.
struct Bench {
  std::string name, title;
  double width_m = 1.6, depth_m = 0.7, height_m = 0.74, thickness_m = 0.03;  // top: x in ±width/2, y in [0, depth]
  double standoff_m = 0.12;                                                  // belly to front edge
  Eigen::Isometry3d X_WB = Eigen::Isometry3d::Identity();                    // arm base, z of B along joint 1
  std::vector<Body> keep_out;                                                // zones and fixtures, in W; the shelves too
  std::vector<Body> shelves;                                                 // boxes with level tops that props may lie on, in W
  std::string text;
};

/// @throws InputError (file:line:column).
Bench ReadBench(const std::filesystem::path& file);
Bench ParseBench(const std::string& text, const std::string& file_name);

/// The top as a body in W, named "bench".
Body BenchTop(const Bench& bench);
/// @throws InputError if the bench has no shelf of this name.
const Body& ShelfOf(const Bench& bench, const std::string& name);
/// Height over the floor of what things lie on: a shelf's top, or the bench's where `on` is empty. @throws InputError as above.
double TopHeight_m(const Bench& bench, const std::string& on);

}  // namespace dryrig
