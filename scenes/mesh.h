#pragma once

#include <Eigen/Core>
#include <filesystem>
#include <string>
#include <vector>

#include "scenes/shape.h"

namespace dryrig {

/// Where a URDF's mesh file is. Looks for `package://PACKAGE/PATH`, `file://` and plain paths beside the URDF, in its parent
/// folders, in `package_paths`, then in $ROS_PACKAGE_PATH. @throws InputError listing the places tried.
std::filesystem::path FindMesh(const std::string& uri, const std::filesystem::path& urdf,
                               const std::vector<std::filesystem::path>& package_paths);

/// A mesh file as a convex solid that holds all of it.
struct MeshHull {
  Shape shape;
  size_t vertices = 0;     // in the file, each once
  double excess_m = 0;     // the solid is nowhere farther than this outside the mesh's true hull
  bool thickened = false;  // the mesh was flat
};

/// STL, DAE, OBJ or whatever else assimp reads. Node transforms and DAE units apply; a DAE's up axis does not, as is usual
/// among programs that read URDF. `scale` per axis. @throws InputError if unreadable, empty or beyond 100 m.
MeshHull ReadMeshHull(const std::filesystem::path& file, const Eigen::Vector3d& scale);

}  // namespace dryrig
