#pragma once

#include <Eigen/Core>
#include <cstdint>
#include <vector>

#include "scenes/shape.h"

namespace dryrig {

/// Triangles with a normal a vertex, counter-clockwise from outside.
struct Mesh {
  std::vector<Eigen::Vector3f> points, normals;
  std::vector<uint32_t> triangles;  // three a triangle
};

/// The shape's surface; round ones within `tolerance_m` of the true surface (beyond a radius of 900 tolerances they are coarser),
/// and never outside it.
Mesh MeshOf(const Shape& shape, double tolerance_m = 0.0005);

/// Parts of a capsule of changing length, which fit at their rims: a half ball of radius 1 about the origin, open below, and an
/// open tube of radius 1 along z from 0 to 1.
Mesh DomeMesh(int segments);
Mesh TubeMesh(int segments);
/// A flat disc of concentric rings about z, seen from above alone: light that is reckoned at vertices needs them.
Mesh DiscMesh(const std::vector<double>& radii_m, int segments);
/// A cushion over the triangle (0, 0), (1, 0), (0, 1) of the x-y plane: half as thick at each corner as `half` says, but
/// rounded off to `rim` towards the side between the last two, the only one that is closed.
Mesh ClothMesh(const Eigen::Vector3d& half, double rim);
/// Segments about the axis that keep a round mesh within tolerance: a multiple of 4, in [12, 96].
int RoundSegments(double radius_m, double tolerance_m);

}  // namespace dryrig
