#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "scenes/inertia.h"
#include "scenes/mesh.h"
#include "scenes/urdf_xml.h"

namespace urdf {
class Geometry;
class Inertial;
class Link;
class Pose;
}  // namespace urdf

namespace dryrig {

Eigen::Isometry3d ToIsometry(const urdf::Pose& pose);

/// Turns single URDF links into solids and masses; assumptions go to the notes.
class UrdfLinkReader {
 public:
  UrdfLinkReader(const UrdfTree& tree, std::vector<std::filesystem::path> package_paths, std::vector<std::string>* notes);

  /// Collision solids in the link's own frame; its visual ones where it has no collision. May be empty.
  std::vector<Body> Bodies(const urdf::Link& link);
  /// As stated, repaired or, where it is missing, from the solids at 1000 kg/m³. Massless for a bare frame.
  /// @throws InputError for an inertia that no body can have.
  MassProperties Mass(const urdf::Link& link, const std::vector<Body>& bodies);
  /// Every mesh's hull as text.
  std::string shapes_text() const;

 private:
  Shape ToShape(const std::string& link, const urdf::Geometry& geometry);
  const MeshHull& Hull(const std::string& link, const std::string& uri, const Eigen::Vector3d& scale);

  const UrdfTree& tree_;
  std::vector<std::filesystem::path> package_paths_;
  std::vector<std::string>* notes_;
  std::map<std::tuple<std::string, double, double, double>, MeshHull> hulls_;
};

}  // namespace dryrig
