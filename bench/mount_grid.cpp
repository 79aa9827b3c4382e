#include "bench/mount_grid.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <sstream>

#include "scenes/error.h"
#include "sim/distance.h"

namespace dryrig {

namespace {

constexpr double kWorkInside_m = 0.15;                 // of the front edge
constexpr double kBeside_m = 0.05;                     // of a column, off an edge
constexpr double kLow_m = 0.05, kHigh_m = 0.65;        // of a base over the top
constexpr double kRailLow_m = 0.9, kRailHigh_m = 1.3;  // of a rail over the top
constexpr double kBase_m = 0.1;                        // half of the room that a base takes

/// From `lo` to `hi` in equal steps near `step`.
std::vector<double> Spread(double lo, double hi, double step) {
  const int count = std::max(1, static_cast<int>(std::lround((hi - lo) / step)));
  std::vector<double> out;
  for (int i = 0; i <= count; ++i) out.push_back(lo + (hi - lo) * i / count);
  return out;
}

int Millimetres(double m) {
  return static_cast<int>(std::lround(m * 1000));
}

}  // namespace

Eigen::Isometry3d MountPlace::X_WB() const {
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  X.translation() = at_m;
  X.rotate(Eigen::AngleAxisd(yaw_rad, Eigen::Vector3d::UnitZ()));
  if (hangs()) X.rotate(Eigen::AngleAxisd(std::numbers::pi, Eigen::Vector3d::UnitX()));
  return X;
}

std::string MountPlace::Text() const {
  return fmt::format("{}, x {} mm, y {} mm, z {} mm", side, Millimetres(at_m.x()), Millimetres(at_m.y()), Millimetres(at_m.z()));
}

std::vector<MountPlace> MountGrid(const Bench& bench, double step_m) {
  std::vector<MountPlace> out;
  const auto add = [&](const std::string& side, double x, double y, double over_m) {
    MountPlace place{side, {x, y, bench.height_m + over_m}, 0};
    // Whole millimetres, as a bench file will have it.
    for (double& m : place.at_m) m = Millimetres(m) / 1000.0;
    place.yaw_rad = std::atan2(kWorkInside_m - place.at_m.y(), -place.at_m.x());
    const bool stands_in = std::any_of(bench.keep_out.begin(), bench.keep_out.end(), [&](const Body& body) {
      return Distance(Shape::Sphere(kBase_m), Eigen::Isometry3d(Eigen::Translation3d(place.at_m)), body.shape, body.X_LS)
                 .distance_m <= 0;
    });
    if (!stands_in) out.push_back(place);
  };
  const double half = bench.width_m / 2;
  for (const double over_m : Spread(kLow_m, kHigh_m, step_m)) {
    for (const double x : Spread(-half, half, step_m)) add("back", x, bench.depth_m + kBeside_m, over_m);
    for (const double y : Spread(0.3 * bench.depth_m, 0.75 * bench.depth_m, step_m)) {
      add("left", -half - kBeside_m, y, over_m);
      add("right", half + kBeside_m, y, over_m);
    }
  }
  for (const double over_m : Spread(kRailLow_m, kRailHigh_m, 2 * step_m)) {
    for (const double x : Spread(-half, half, step_m)) {
      for (const double y : Spread(0.5 * bench.depth_m, bench.depth_m, step_m)) add("overhead", x, y, over_m);
    }
  }
  return out;
}

std::string WithMount(const std::string& bench_text, const MountPlace& place) {
  std::istringstream lines(bench_text);
  std::string out;
  bool inside = false, found = false;
  for (std::string line; std::getline(lines, line);) {
    const bool indented = !line.empty() && (line[0] == ' ' || line[0] == '\t');
    if (inside && indented) continue;
    inside = line.starts_with("mount:");
    if (!inside) {
      out += line + "\n";
      continue;
    }
    found = true;
    out += fmt::format("mount:\n  at_mm: [{}, {}, {}]\n  rpy_deg: [{}, 0, {:.6f}]\n", Millimetres(place.at_m.x()),
                       Millimetres(place.at_m.y()), Millimetres(place.at_m.z()), place.hangs() ? 180 : 0,
                       place.yaw_rad * 180 / std::numbers::pi);
  }
  if (!found) throw InputError("the bench's file has no line that begins with `mount:`; write it so");
  return out;
}

}  // namespace dryrig
