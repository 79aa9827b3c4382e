#include "sim/distance.h"

#include <algorithm>
#include <cmath>

#include "sim/solid.h"

namespace dryrig {

namespace {

constexpr double kTouch_m = 1e-12;  // cores nearer than this meet: their difference has no direction left

Eigen::Vector3d PointOn(const Solid& line, double t) {
  return line.core == Solid::Core::kPoint ? line.a_W : Eigen::Vector3d(line.a_W + t * (line.b_W - line.a_W));
}

Eigen::Vector3d EndOf(const Solid& line) {
  return line.core == Solid::Core::kPoint ? line.a_W : line.b_W;
}

// Segments that cross have a flat difference: the way out is across both.
CoreNearest LineToLine(const Solid& a, const Solid& b) {
  const Eigen::Vector3d a_end = EndOf(a), b_end = EndOf(b);
  const SegmentPair pair = NearestOnSegments(a.a_W, a_end, b.a_W, b_end);
  CoreNearest out;
  out.a_W = PointOn(a, pair.s);
  out.b_W = PointOn(b, pair.t);
  const Eigen::Vector3d way = out.b_W - out.a_W;
  out.distance_m = way.norm();
  if (out.distance_m > kTouch_m) {
    out.normal_W = way / out.distance_m;
    return out;
  }
  const Eigen::Vector3d along_a = a_end - a.a_W, along_b = b_end - b.a_W, across = along_a.cross(along_b);
  if (across.norm() > kTouch_m)
    out.normal_W = across.normalized();
  else if (along_a.squaredNorm() + along_b.squaredNorm() > 0) {
    out.normal_W = (along_a.squaredNorm() > along_b.squaredNorm() ? along_a : along_b).unitOrthogonal();
  }
  return out;
}

// The point of a box or cylinder, in its own frame, nearest to p_S.
Eigen::Vector3d NearestWithin(const Solid& solid, const Eigen::Vector3d& p_S) {
  if (solid.core == Solid::Core::kBox) return p_S.cwiseMax(-solid.half_m).cwiseMin(solid.half_m);
  const double across = std::hypot(p_S.x(), p_S.y());
  const double share = across > solid.half_m.x() ? solid.half_m.x() / across : 1;
  return {share * p_S.x(), share * p_S.y(), std::clamp(p_S.z(), -solid.half_m.z(), solid.half_m.z())};
}

// Segment against a box or cylinder. The squared distance of a point that runs along the segment is convex and smooth, so
// its slope is bracketed and driven to zero (regula falsi in the Illinois form, halving where that is slow). False: they meet.
bool LineApart(const Solid& line, const Solid& solid, CoreNearest* out) {
  const Eigen::Vector3d from = solid.R_WS.transpose() * (line.a_W - solid.p_WS);
  const Eigen::Vector3d way = solid.R_WS.transpose() * (EndOf(line) - line.a_W);
  Eigen::Vector3d p_S, off;
  const auto slope_at = [&](double t) {
    p_S = from + t * way;
    off = p_S - NearestWithin(solid, p_S);
    return off.dot(way);
  };
  const auto meets = [&] { return off.squaredNorm() <= kTouch_m * kTouch_m; };

  double lo = 0, slope_lo = slope_at(0);
  if (meets()) return false;
  if (slope_lo < 0) {
    double hi = 1, slope_hi = slope_at(1);
    if (meets()) return false;
    if (slope_hi > 0) {
      for (int round = 0; round < 100 && hi - lo > 1e-14; ++round) {
        const double falsi = lo - slope_lo * (hi - lo) / (slope_hi - slope_lo);
        const double t = round % 4 == 3 || !(falsi > lo && falsi < hi) ? 0.5 * (lo + hi) : falsi;
        const double slope = slope_at(t);
        if (meets()) return false;
        if (slope == 0) break;
        if (slope < 0) {
          lo = t, slope_lo = slope, slope_hi *= 0.5;
        } else {
          hi = t, slope_hi = slope, slope_lo *= 0.5;
        }
      }
    }
  }
  out->distance_m = off.norm();
  out->normal_W = solid.R_WS * (-off / out->distance_m);
  out->a_W = solid.p_WS + solid.R_WS * p_S;
  out->b_W = out->a_W + out->distance_m * out->normal_W;
  return true;
}

CoreNearest Turned(const CoreNearest& core) {
  return {core.distance_m, core.b_W, core.a_W, -core.normal_W};
}

bool IsRoundOrBox(const Solid& solid) {
  return solid.core == Solid::Core::kBox || solid.core == Solid::Core::kCylinder;
}

CoreNearest CoreDistance(const Solid& a, const Solid& b) {
  if (a.IsLine() && b.IsLine()) return LineToLine(a, b);
  CoreNearest out;
  bool apart = false;
  if (a.IsLine() && IsRoundOrBox(b)) {
    apart = LineApart(a, b, &out);
  } else if (b.IsLine() && IsRoundOrBox(a)) {
    apart = LineApart(b, a, &out);
    out = Turned(out);
  } else {
    apart = GjkApart(a, b, &out);
  }
  return apart ? out : EpaOverlap(a, b);
}

}  // namespace

Solid MakeSolid(const Shape& shape, const Eigen::Isometry3d& X_WS) {
  Solid solid;
  switch (shape.kind) {
    case ShapeKind::kSphere:
      solid.a_W = solid.b_W = X_WS.translation();
      solid.radius_m = shape.radius_m;
      return solid;
    case ShapeKind::kCapsule: {
      const Eigen::Vector3d half_W = X_WS.linear().col(2) * shape.half_length_m;
      return MakeCapsule(X_WS.translation() - half_W, X_WS.translation() + half_W, shape.radius_m);
    }
    case ShapeKind::kCylinder:
      solid.core = Solid::Core::kCylinder;
      solid.half_m = {shape.radius_m, shape.radius_m, shape.half_length_m};
      break;
    case ShapeKind::kBox:
      solid.core = Solid::Core::kBox;
      solid.half_m = shape.half_m;
      break;
    case ShapeKind::kHull:
      solid.core = Solid::Core::kHull;
      solid.points = &shape.points;
      break;
  }
  solid.p_WS = X_WS.translation();
  solid.R_WS = X_WS.linear();
  return solid;
}

Solid MakeCapsule(const Eigen::Vector3d& a_W, const Eigen::Vector3d& b_W, double radius_m) {
  Solid solid;
  solid.core = a_W == b_W ? Solid::Core::kPoint : Solid::Core::kSegment;
  solid.a_W = a_W;
  solid.b_W = b_W;
  solid.radius_m = radius_m;
  return solid;
}

Nearest DistanceOf(const Solid& a, const Solid& b) {
  const CoreNearest core = CoreDistance(a, b);
  return {core.distance_m - a.radius_m - b.radius_m, core.a_W + a.radius_m * core.normal_W,
          core.b_W - b.radius_m * core.normal_W};
}

Nearest Distance(const Shape& a, const Eigen::Isometry3d& X_WA, const Shape& b, const Eigen::Isometry3d& X_WB) {
  return DistanceOf(MakeSolid(a, X_WA), MakeSolid(b, X_WB));
}

SegmentPair NearestOnSegments(const Eigen::Vector3d& p0, const Eigen::Vector3d& p1, const Eigen::Vector3d& q0,
                              const Eigen::Vector3d& q1) {
  const Eigen::Vector3d u = p1 - p0, v = q1 - q0, w = p0 - q0;
  const double uu = u.squaredNorm(), vv = v.squaredNorm(), uv = u.dot(v), uw = u.dot(w), vw = v.dot(w);
  double s = 0, t = 0;
  if (uu > 0 && vv > 0) {
    // Where the lines are parallel any s is as good as another; 0 is taken, and t and then s are found again from it.
    const double across = uu * vv - uv * uv;
    if (across > 0) s = std::clamp((uv * vw - uw * vv) / across, 0.0, 1.0);
    t = std::clamp((vw + s * uv) / vv, 0.0, 1.0);
    s = std::clamp((t * uv - uw) / uu, 0.0, 1.0);
  } else if (uu > 0) {
    s = std::clamp(-uw / uu, 0.0, 1.0);
  } else if (vv > 0) {
    t = std::clamp(vw / vv, 0.0, 1.0);
  }
  return {(w + s * u - t * v).squaredNorm(), s, t};
}

}  // namespace dryrig
