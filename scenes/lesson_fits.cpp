#include <fmt/format.h>

#include <algorithm>

#include "scenes/bench.h"
#include "scenes/lesson_reader.h"

namespace dryrig {

namespace {

constexpr double kFlush_m = 1e-6;

/// A level rectangle that things lie on, in bench coordinates.
struct Ground {
  std::string name;
  Eigen::Vector2d middle_m, half_m;
};

Ground GroundOf(const Bench& bench, const std::string& on) {
  if (on.empty()) return {"bench " + bench.name, {0, bench.depth_m / 2}, {bench.width_m / 2, bench.depth_m / 2}};
  const Body& shelf = ShelfOf(bench, on);
  return {fmt::format("shelf {} of bench {}", on, bench.name), shelf.X_LS.translation().head<2>(), shelf.shape.half_m.head<2>()};
}

/// The first edge that a thing of this half size would hang over, in words; empty where it lies well.
std::string Overhang(const Eigen::Vector2d& at_m, const Eigen::Vector2d& half_m, const Ground& ground) {
  const Eigen::Vector2d low = ground.middle_m - ground.half_m - (at_m - half_m),
                        high = at_m + half_m - ground.middle_m - ground.half_m;
  const auto reach = [&](double over_m, const char* edge) {
    return over_m > kFlush_m ? fmt::format("{:.1f} mm over the {} edge", over_m * 1000, edge) : std::string();
  };
  for (const std::string& words :
       {reach(low.x(), "left"), reach(high.x(), "right"), reach(low.y(), "front"), reach(high.y(), "far")}) {
    if (!words.empty()) return words;
  }
  return "";
}

/// The shelf that a thing on the bench's top would stand in; null: none.
const Body* ShelfInTheWay(const Bench& bench, const Prop& prop, const Eigen::Vector2d& at_m) {
  const double height_m = 2 * prop.shape.Below();
  for (const Body& shelf : bench.shelves) {
    const Eigen::Vector3d at = shelf.X_LS.translation();
    if (at.z() - shelf.shape.half_m.z() > bench.height_m + height_m || at.z() + shelf.shape.half_m.z() < bench.height_m) continue;
    const Eigen::Vector2d gap = (at_m - at.head<2>()).cwiseAbs() - FootprintHalf(prop) - shelf.shape.half_m.head<2>();
    if (gap.maxCoeff() < -kFlush_m) return &shelf;
  }
  return nullptr;
}

}  // namespace

void RequireFits(const Lesson& lesson, const Bench& bench) {
  const auto require = [&](const SourcePos& pos, const Prop& prop, const Eigen::Vector2d& at_m, const std::string& on) {
    const std::string what = fmt::format("prop \"{}\" at [{:.0f}, {:.0f}] mm", prop.name, at_m.x() * 1000, at_m.y() * 1000);
    const auto found = std::find_if(bench.shelves.begin(), bench.shelves.end(), [&](const Body& b) { return b.name == on; });
    if (!on.empty() && found == bench.shelves.end()) {
      std::vector<std::string> names;
      for (const Body& shelf : bench.shelves) names.push_back(shelf.name);
      throw InputError(
          pos, fmt::format("{} lies on shelf \"{}\", but bench {} has {}", what, on, bench.name,
                           names.empty() ? "no shelves; take a bench that has" : "none of that name" + Suggest(on, names)));
    }
    const Ground ground = GroundOf(bench, on);
    const std::string overhang = Overhang(at_m, FootprintHalf(prop), ground);
    if (!overhang.empty()) {
      throw InputError(pos, fmt::format("{} reaches {} of {} ({:.0f} x {:.0f} mm); move it or take a larger bench", what,
                                        overhang, ground.name, ground.half_m.x() * 2000, ground.half_m.y() * 2000));
    }
    if (!on.empty()) return;
    if (const Body* shelf = ShelfInTheWay(bench, prop, at_m)) {
      throw InputError(pos, fmt::format("{} stands in shelf {} of bench {}; move it, or lay it `on: {}`", what, shelf->name,
                                        bench.name, shelf->name));
    }
  };
  for (const Prop& prop : lesson.props) require(prop.pos, prop, prop.at_m, prop.on);
  for (const Beat& beat : lesson.beats) {
    if (!beat.to_m) continue;
    for (const Prop& prop : lesson.props) {
      if (prop.name == beat.prop) require(beat.pos, prop, *beat.to_m, beat.on);
    }
  }
}

}  // namespace dryrig
