#include "scenes/bench.h"

#include <fmt/format.h>

#include <algorithm>

#include "scenes/shape_reader.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

constexpr Limits kPlace_mm{-5000, 5000};

Body ReadKeepOut(const YamlNode& node, size_t index) {
  std::vector<std::string> known{"name", "at_mm", "rpy_deg"};
  known.insert(known.end(), ShapeKeys().begin(), ShapeKeys().end());
  const YamlMap map = node.In(fmt::format("keep-out {}", index + 1)).Map(known);
  return {map.At("name").Name(), ReadShape(map, 5000), ReadPose(map, kPlace_mm)};
}

/// Level, or nothing would stay on it: hence no rpy_deg.
Body ReadShelf(const YamlNode& node, size_t index) {
  const YamlMap map = node.In(fmt::format("shelf {}", index + 1)).Map({"name", "box", "at_mm"});
  return {map.At("name").Name(), ReadShape(map, 2000), ReadPose(map, kPlace_mm)};
}

/// The things fixed to the bench, so that each has a name of its own.
void Add(const YamlNode& node, const std::string& what, Body body, Bench* bench) {
  const bool taken = body.name == "bench" || std::any_of(bench->keep_out.begin(), bench->keep_out.end(),
                                                         [&](const Body& b) { return b.name == body.name; });
  if (taken) node.FailPlain(fmt::format("{}: the name \"{}\" is taken; choose another", what, body.name));
  bench->keep_out.push_back(std::move(body));
}

}  // namespace

Bench ParseBench(const std::string& text, const std::string& file_name) {
  const YamlMap map = YamlNode::Parse(text, file_name)
                          .Document("bench", {"title", "width_mm", "depth_mm", "height_mm", "thickness_mm", "standoff_mm",
                                              "mount", "shelves", "keep_out"});
  Bench bench;
  bench.name = std::filesystem::path(file_name).stem().string();
  bench.title = map.Text("title");
  bench.width_m = map.Number("width_mm", {300, 4000});
  bench.depth_m = map.Number("depth_mm", {200, 2000});
  bench.height_m = map.Number("height_mm", {400, 1300});
  bench.thickness_m = map.Number("thickness_mm", {5, 200}, bench.thickness_m);
  bench.standoff_m = map.Number("standoff_mm", {0, 500}, bench.standoff_m);
  const YamlMap mount = map.At("mount").In("mount").Map({"at_mm", "rpy_deg"});
  bench.X_WB = ReadPose(mount, kPlace_mm);
  if (bench.X_WB.translation().z() < 0) {
    mount.At("at_mm").Fail(
        fmt::format("the arm's base would be {} mm below the floor; z starts at 0", -1000 * bench.X_WB.translation().z()));
  }
  if (const auto shelves = map.Find("shelves")) {
    const std::vector<YamlNode> nodes = shelves->List(0, 10);
    for (size_t i = 0; i < nodes.size(); ++i) {
      bench.shelves.push_back(ReadShelf(nodes[i], i));
      Add(nodes[i], fmt::format("shelf {}", i + 1), bench.shelves.back(), &bench);
    }
  }
  if (const auto keep_out = map.Find("keep_out")) {
    const std::vector<YamlNode> nodes = keep_out->List(0, 50);
    for (size_t i = 0; i < nodes.size(); ++i) Add(nodes[i], fmt::format("keep-out {}", i + 1), ReadKeepOut(nodes[i], i), &bench);
  }
  bench.text = text;
  return bench;
}

Bench ReadBench(const std::filesystem::path& file) {
  return ParseBench(ReadTextFile(file), file.string());
}

Body BenchTop(const Bench& bench) {
  Body top;
  top.name = "bench";
  top.shape = Shape::Box({bench.width_m / 2, bench.depth_m / 2, bench.thickness_m / 2});
  top.X_LS.translation() = Eigen::Vector3d(0, bench.depth_m / 2, bench.height_m - bench.thickness_m / 2);
  return top;
}

const Body& ShelfOf(const Bench& bench, const std::string& name) {
  std::vector<std::string> names;
  for (const Body& shelf : bench.shelves) {
    if (shelf.name == name) return shelf;
    names.push_back(shelf.name);
  }
  throw InputError(
      fmt::format("bench {} has no shelf \"{}\"{}", bench.name, name, names.empty() ? "; it has none" : Suggest(name, names)));
}

double TopHeight_m(const Bench& bench, const std::string& on) {
  if (on.empty()) return bench.height_m;
  const Body& shelf = ShelfOf(bench, on);
  return shelf.X_LS.translation().z() + shelf.shape.half_m.z();
}

}  // namespace dryrig
