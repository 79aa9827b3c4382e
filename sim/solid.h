#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <vector>

#include "scenes/shape.h"

namespace dryrig {

/// Inside of sim: a convex solid in W as a core with a radius around it. A sphere's core is a point, a capsule's a segment;
/// others are their own core. The signed distance of two solids is exactly that of their cores less both radii, because a
/// ball added to a convex set moves its supporting planes by the ball's radius.
struct Solid {
  enum class Core { kPoint, kSegment, kBox, kCylinder, kHull };
  Core core = Core::kPoint;
  double radius_m = 0;                            // around the core
  Eigen::Vector3d a_W = Eigen::Vector3d::Zero();  // point; segment's ends
  Eigen::Vector3d b_W = Eigen::Vector3d::Zero();
  Eigen::Vector3d p_WS = Eigen::Vector3d::Zero();  // box, cylinder, hull
  Eigen::Matrix3d R_WS = Eigen::Matrix3d::Identity();
  Eigen::Vector3d half_m = Eigen::Vector3d::Zero();      // box; cylinder: radius, radius, half height
  const std::vector<Eigen::Vector3d>* points = nullptr;  // hull, in S; not empty

  bool IsLine() const { return core == Core::kPoint || core == Core::kSegment; }

  /// A point of the core.
  Eigen::Vector3d Inner() const {
    if (IsLine()) return a_W;
    return core == Core::kHull ? Eigen::Vector3d(p_WS + R_WS * points->front()) : p_WS;
  }

  /// Point of the core farthest along `way_W`.
  Eigen::Vector3d Support(const Eigen::Vector3d& way_W) const {
    switch (core) {
      case Core::kPoint:
        return a_W;
      case Core::kSegment:
        return way_W.dot(b_W - a_W) > 0 ? b_W : a_W;
      case Core::kBox: {
        const Eigen::Vector3d way = R_WS.transpose() * way_W;
        return p_WS + R_WS * Eigen::Vector3d(std::copysign(half_m.x(), way.x()), std::copysign(half_m.y(), way.y()),
                                             std::copysign(half_m.z(), way.z()));
      }
      case Core::kCylinder: {
        const Eigen::Vector3d way = R_WS.transpose() * way_W;
        const double across = std::hypot(way.x(), way.y());
        const double share = across > 0 ? half_m.x() / across : 0;
        return p_WS + R_WS * Eigen::Vector3d(share * way.x(), share * way.y(), std::copysign(half_m.z(), way.z()));
      }
      case Core::kHull: {
        const Eigen::Vector3d way = R_WS.transpose() * way_W;
        const Eigen::Vector3d* farthest = &points->front();
        double most = way.dot(*farthest);
        for (const Eigen::Vector3d& point : *points) {
          const double along = way.dot(point);
          if (along > most) most = along, farthest = &point;
        }
        return p_WS + R_WS * *farthest;
      }
    }
    return p_WS;
  }
};

Solid MakeSolid(const Shape& shape, const Eigen::Isometry3d& X_WS);
Solid MakeCapsule(const Eigen::Vector3d& a_W, const Eigen::Vector3d& b_W, double radius_m);

/// Nearest points of two cores, signed: `normal_W` is the unit direction from A to B along which they are `distance_m` apart
/// (negative: they overlap, and moving A by -distance_m against the normal parts them). Points a and b differ by
/// distance_m * normal_W.
struct CoreNearest {
  double distance_m = 0;
  Eigen::Vector3d a_W = Eigen::Vector3d::Zero(), b_W = Eigen::Vector3d::Zero();
  Eigen::Vector3d normal_W = Eigen::Vector3d::UnitZ();
};

/// By Gilbert, Johnson and Keerthi's iteration, ended by its own bound: the result is at most 1e-10 m above the true distance
/// but where rounding forbids. False: the cores meet, and `out` is not set.
bool GjkApart(const Solid& a, const Solid& b, CoreNearest* out);
/// Cores that meet: the shortest way out, by expanding a polytope inside their difference (van den Bergen), to 1e-9 m.
CoreNearest EpaOverlap(const Solid& a, const Solid& b);

/// Nearest points of two solids, for every pair of kinds.
struct Nearest;
Nearest DistanceOf(const Solid& a, const Solid& b);

}  // namespace dryrig
