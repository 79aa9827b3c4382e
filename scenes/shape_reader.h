#pragma once

#include "scenes/shape.h"
#include "scenes/yaml_node.h"

namespace dryrig {

/// The keys that ReadShape understands; a map that holds a shape has exactly one of them.
const std::vector<std::string>& ShapeKeys();

/// `box: {size_mm: [x, y, z]}`, `cylinder: {diameter_mm, height_mm}`, `capsule: {diameter_mm, length_mm}` (ends included) or
/// `sphere: {diameter_mm}`, no measure above `most_mm`. Cylinder and capsule stand along z.
Shape ReadShape(const YamlMap& map, double most_mm);

/// `at_mm: [x, y, z]` and, optional, `rpy_deg: [roll, pitch, yaw]` about fixed axes in that order, as in URDF.
Eigen::Isometry3d ReadPose(const YamlMap& map, Limits at_mm);

}  // namespace dryrig
