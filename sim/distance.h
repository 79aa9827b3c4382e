#pragma once

#include <Eigen/Geometry>

#include "scenes/shape.h"

namespace dryrig {

/// The nearest points of two solids. Negative: penetration depth along the shortest way out.
struct Nearest {
  double distance_m = 0;
  Eigen::Vector3d p_WA = Eigen::Vector3d::Zero(), p_WB = Eigen::Vector3d::Zero();
};

/// Exact for spheres, capsules; GJK with no collision margin where a box, cylinder or hull takes part.
Nearest Distance(const Shape& a, const Eigen::Isometry3d& X_WA, const Shape& b, const Eigen::Isometry3d& X_WB);

/// Segment p0p1 against q0q1: nearest points at p0 + s (p1-p0), q0 + t (q1-q0). Zero-length and parallel ones included.
struct SegmentPair { double squared_m2, s, t; };
SegmentPair NearestOnSegments(const Eigen::Vector3d& p0, const Eigen::Vector3d& p1, const Eigen::Vector3d& q0, const Eigen::Vector3d& q1);

/// Where the ray from `from` along `to - from` first enters the solid, as a share of that segment; infinity: not within it.
/// 0 when `from` is inside.
double RayEntry(const Shape& shape, const Eigen::Isometry3d& X_WS, const Eigen::Vector3d& from, const Eigen::Vector3d& to);
double RayEntryCapsule(const Eigen::Vector3d& a, const Eigen::Vector3d& b, double radius_m, const Eigen::Vector3d& from, const Eigen::Vector3d& to);

}  // namespace dryrig
