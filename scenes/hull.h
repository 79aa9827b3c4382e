#pragma once

#include <Eigen/Core>
#include <vector>

namespace dryrig {

/// {x : normal·x <= offset_m}, unit normal.
struct HalfSpace {
  Eigen::Vector3d normal;
  double offset_m;
};

/// Faces of the convex hull of a few points, each once. By trial of all triples: robust against points that share a plane.
/// Empty when the points do not span a volume. @pre at most a hundred or so points.
std::vector<HalfSpace> HullPlanes(const std::vector<Eigen::Vector3d>& points);

/// Number i of n unit vectors spread evenly over the sphere (Fibonacci spiral).
Eigen::Vector3d EvenDirection(int i, int n);

/// A convex hull with few vertices that holds all the points of a large cloud.
struct ReducedHull {
  std::vector<Eigen::Vector3d> points;
  size_t cloud_points = 0;  // different ones
  double excess_m = 0;      // no point of it is farther than this outside the cloud's own hull
  bool thickened = false;   // the cloud was flat, a line or a point: given 1 mm of thickness
};
/// @pre at least one point, all finite; most_points >= 8.
ReducedHull ReduceToHull(std::vector<Eigen::Vector3d> cloud, int most_points);

}  // namespace dryrig
