#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "scenes/lesson_reader.h"
#include "scenes/shape_reader.h"

namespace dryrig {

namespace {

constexpr double kMost_mm = 600;  // what one person lifts and turns at a bench
constexpr size_t kMostProps = 40;
constexpr double kTipOff_mm = 1;  // rounding of a file's numbers

bool IsBox(const Prop& prop) {
  return prop.shape.kind == ShapeKind::kBox;
}

/// A box's axes seen from above, in bench coordinates.
std::array<Eigen::Vector2d, 2> Axes(const Prop& box) {
  const double c = std::cos(box.yaw_rad), s = std::sin(box.yaw_rad);
  return {Eigen::Vector2d(c, s), Eigen::Vector2d(-s, c)};
}

/// Half of the box's shadow on a unit direction.
double HalfShadow(const Prop& box, const Eigen::Vector2d& direction) {
  const auto axes = Axes(box);
  return box.shape.half_m.x() * std::abs(axes[0].dot(direction)) + box.shape.half_m.y() * std::abs(axes[1].dot(direction));
}

bool CircleMeetsBox(const Eigen::Vector2d& centre_m, double radius_m, const Prop& box, const Eigen::Vector2d& box_m) {
  const auto axes = Axes(box);
  const Eigen::Vector2d d = centre_m - box_m;
  const double dx = std::max(0.0, std::abs(d.dot(axes[0])) - box.shape.half_m.x());
  const double dy = std::max(0.0, std::abs(d.dot(axes[1])) - box.shape.half_m.y());
  return std::hypot(dx, dy) < radius_m;
}

/// Distance of a point from the surface of a shape that a lesson can give; negative inside.
double OffSurface_m(const Shape& shape, const Eigen::Vector3d& p) {
  const auto beyond = [](const auto& over) { return over.cwiseMax(0.0).norm() + std::min(over.maxCoeff(), 0.0); };
  const double across = std::hypot(p.x(), p.y());
  switch (shape.kind) {
    case ShapeKind::kBox:
      return beyond(Eigen::Vector3d(p.cwiseAbs() - shape.half_m));
    case ShapeKind::kCylinder:
      return beyond(Eigen::Vector2d(across - shape.radius_m, std::abs(p.z()) - shape.half_length_m));
    case ShapeKind::kCapsule:
      return std::hypot(across, std::max(0.0, std::abs(p.z()) - shape.half_length_m)) - shape.radius_m;
    case ShapeKind::kSphere:
    case ShapeKind::kHull:
      break;
  }
  return p.norm() - shape.BoundingRadius();
}

Prop ReadProp(const YamlNode& node, size_t index) {
  std::vector<std::string> known{"name"};
  known.insert(known.end(), ShapeKeys().begin(), ShapeKeys().end());
  for (const char* key : {"at_mm", "on", "yaw_deg", "mass_g", "colour", "tip_mm"}) known.emplace_back(key);
  const YamlMap map = node.In(fmt::format("prop {}", index + 1)).Map(known);
  Prop prop;
  prop.name = map.At("name").Name();
  if (prop.name == "face" || prop.name == "hands" || prop.name == "bench") {
    map.At("name").Fail(fmt::format("\"{}\" is a subject of its own; choose another name", prop.name));
  }
  prop.shape = ReadShape(map, kMost_mm);
  prop.at_m = map.Vector<2>("at_mm", {-2000, 2000});
  if (const auto on = map.Find("on")) prop.on = on->Name();
  prop.yaw_rad = map.Number("yaw_deg", {-360, 360}, 0);
  prop.mass_kg = map.Number("mass_g", {0.1, 20'000});
  if (map.Has("colour")) prop.colour = map.Vector<3>("colour", {0, 1});
  if (map.Has("tip_mm")) {
    prop.tip_m = map.Vector<3>("tip_mm", {-kMost_mm, kMost_mm});
    const double off_mm = 1000 * OffSurface_m(prop.shape, *prop.tip_m);
    if (std::abs(off_mm) > kTipOff_mm) {
      map.At("tip_mm").Fail(fmt::format("{:.1f} mm {} the surface of \"{}\"; give a point on it, seen from its centre",
                                        std::abs(off_mm), off_mm < 0 ? "below" : "off", prop.name));
    }
  }
  prop.pos = node.pos();
  return prop;
}

}  // namespace

Eigen::Vector2d FootprintHalf(const Prop& prop) {
  if (!IsBox(prop)) return Eigen::Vector2d::Constant(prop.shape.radius_m);
  return {HalfShadow(prop, Eigen::Vector2d::UnitX()), HalfShadow(prop, Eigen::Vector2d::UnitY())};
}

bool FootprintsOverlap(const Prop& a, const Eigen::Vector2d& a_m, const Prop& b, const Eigen::Vector2d& b_m) {
  constexpr double kTouch_m = 1e-6;  // rounding of millimetres, and far below what anybody lays down on purpose
  if (!IsBox(a) && !IsBox(b)) return (a_m - b_m).norm() < a.shape.radius_m + b.shape.radius_m - kTouch_m;
  if (!IsBox(a)) return CircleMeetsBox(a_m, a.shape.radius_m - kTouch_m, b, b_m);
  if (!IsBox(b)) return CircleMeetsBox(b_m, b.shape.radius_m - kTouch_m, a, a_m);
  for (const Prop* box : {&a, &b}) {  // a separating line, if there is one, lies along a side of either
    for (const Eigen::Vector2d& axis : Axes(*box)) {
      if (std::abs((a_m - b_m).dot(axis)) > HalfShadow(a, axis) + HalfShadow(b, axis) - kTouch_m) return false;
    }
  }
  return true;
}

std::vector<Prop> ReadProps(const YamlNode& node) {
  std::vector<Prop> props;
  const std::vector<YamlNode> nodes = node.List(0, kMostProps);
  for (size_t i = 0; i < nodes.size(); ++i) {
    Prop prop = ReadProp(nodes[i], i);
    for (const Prop& other : props) {
      if (other.name == prop.name)
        nodes[i].FailPlain(fmt::format("prop {}: the name \"{}\" is taken; choose another", i + 1, prop.name));
      if (prop.on == other.on && FootprintsOverlap(prop, prop.at_m, other, other.at_m)) {
        nodes[i].FailPlain(fmt::format("prop {}: \"{}\" at [{}, {}] mm lies on \"{}\" at [{}, {}] mm; move one", i + 1, prop.name,
                                       prop.at_m.x() * 1000, prop.at_m.y() * 1000, other.name, other.at_m.x() * 1000,
                                       other.at_m.y() * 1000));
      }
    }
    props.push_back(std::move(prop));
  }
  return props;
}

}  // namespace dryrig
