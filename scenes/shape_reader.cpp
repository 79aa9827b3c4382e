#include "scenes/shape_reader.h"

#include <fmt/format.h>

namespace dryrig {

const std::vector<std::string>& ShapeKeys() {
  static const std::vector<std::string> keys{"box", "cylinder", "capsule", "sphere"};
  return keys;
}

Shape ReadShape(const YamlMap& map, double most_mm) {
  const std::string kind = map.OneOf(ShapeKeys(), "shape");
  const YamlNode node = map.At(kind);
  const Limits limits{1, most_mm};
  if (kind == "box") return Shape::Box(node.Map({"size_mm"}).Vector<3>("size_mm", limits) / 2);
  if (kind == "sphere") return Shape::Sphere(node.Map({"diameter_mm"}).Number("diameter_mm", limits) / 2);
  if (kind == "cylinder") {
    const YamlMap measures = node.Map({"diameter_mm", "height_mm"});
    return Shape::Cylinder(measures.Number("diameter_mm", limits) / 2, measures.Number("height_mm", limits) / 2);
  }
  const YamlMap measures = node.Map({"diameter_mm", "length_mm"});
  const double diameter_m = measures.Number("diameter_mm", limits);
  const double length_m = measures.Number("length_mm", limits);
  if (length_m < diameter_m) {
    measures.At("length_mm")
        .Fail(fmt::format("{} mm is less than the capsule's diameter of {} mm; the length includes both ends", length_m * 1000,
                          diameter_m * 1000));
  }
  return Shape::Capsule(diameter_m / 2, (length_m - diameter_m) / 2);
}

Eigen::Isometry3d ReadPose(const YamlMap& map, Limits at_mm) {
  Eigen::Isometry3d pose = Eigen::Isometry3d::Identity();
  pose.translation() = map.Vector<3>("at_mm", at_mm);
  if (map.Has("rpy_deg")) {
    const Eigen::Vector3d rpy = map.Vector<3>("rpy_deg", {-360, 360});
    pose.linear() = (Eigen::AngleAxisd(rpy.z(), Eigen::Vector3d::UnitZ()) * Eigen::AngleAxisd(rpy.y(), Eigen::Vector3d::UnitY()) *
                     Eigen::AngleAxisd(rpy.x(), Eigen::Vector3d::UnitX()))
                        .toRotationMatrix();
  }
  return pose;
}

}  // namespace dryrig
