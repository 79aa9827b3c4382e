#include <algorithm>
#include <cmath>
#include <limits>

#include "sim/distance.h"
#include "sim/solid.h"

namespace dryrig {

namespace {

constexpr double kMiss = std::numeric_limits<double>::infinity();

// All in the solid's own frame: the ray is from + t way, t in [0, 1].

// Least t >= 0 with |from + t way| = radius; 0 inside.
double EnterSphere(const Eigen::Vector3d& from, const Eigen::Vector3d& way, double radius) {
  const double c = from.squaredNorm() - radius * radius;
  if (c <= 0) return 0;
  const double a = way.squaredNorm(), b = from.dot(way);
  if (!(b < 0)) return kMiss;
  const double discriminant = b * b - a * c;
  if (discriminant < 0) return kMiss;
  const double t = c / (-b + std::sqrt(discriminant));  // no cancellation where the sphere is small and far
  return t <= 1 ? t : kMiss;
}

struct Span {
  double in = 0, out = 1;
  bool empty() const { return !(in <= out); }
};

// Part of the ray between two planes across `axis`.
void ClipSlab(double from, double way, double half, Span* span) {
  if (way == 0) {
    if (std::abs(from) > half) span->out = -1;
    return;
  }
  const double t0 = (-half - from) / way, t1 = (half - from) / way;
  span->in = std::max(span->in, std::min(t0, t1));
  span->out = std::min(span->out, std::max(t0, t1));
}

// Part of the ray within an endless round bar along z.
void ClipBar(const Eigen::Vector3d& from, const Eigen::Vector3d& way, double radius, Span* span) {
  const double a = way.x() * way.x() + way.y() * way.y();
  const double b = from.x() * way.x() + from.y() * way.y();
  const double c = from.x() * from.x() + from.y() * from.y() - radius * radius;
  if (a == 0) {
    if (c > 0) span->out = -1;
    return;
  }
  const double discriminant = b * b - a * c;
  if (discriminant < 0) {
    span->out = -1;
    return;
  }
  const double q = -(b + std::copysign(std::sqrt(discriminant), b));
  const double t0 = q / a, t1 = q == 0 ? t0 : c / q;
  span->in = std::max(span->in, std::min(t0, t1));
  span->out = std::min(span->out, std::max(t0, t1));
}

// A hull is entered by walking: each step lands on the plane that parts the ray's point from the hull, which the ray must
// pass before it can enter.
double EnterHull(const Solid& hull, const Eigen::Vector3d& from, const Eigen::Vector3d& way) {
  constexpr double kNear_m = 1e-9;
  Solid point;
  double t = 0;
  for (int round = 0; round < 256; ++round) {
    point.a_W = from + t * way;
    CoreNearest gap;
    if (!GjkApart(point, hull, &gap) || gap.distance_m <= kNear_m) return t;
    const double closing = gap.normal_W.dot(way);
    if (!(closing > 0)) return kMiss;
    t += gap.distance_m / closing;
    if (!(t <= 1)) return kMiss;
  }
  return t;
}

}  // namespace

double RayEntryCapsule(const Eigen::Vector3d& a, const Eigen::Vector3d& b, double radius_m, const Eigen::Vector3d& from,
                       const Eigen::Vector3d& to) {
  const Eigen::Vector3d axis = b - a, way = to - from, start = from - a;
  const double length2 = axis.squaredNorm();
  if (length2 == 0) return EnterSphere(start, way, radius_m);
  const double start_along = start.dot(axis), way_along = way.dot(axis);
  const double foot = std::clamp(start_along / length2, 0.0, 1.0);
  if ((start - foot * axis).squaredNorm() <= radius_m * radius_m) return 0;

  // The side first: where the endless bar is entered between the two ends, nothing else is entered before.
  const Eigen::Vector3d start_across = start - start_along / length2 * axis, way_across = way - way_along / length2 * axis;
  const double bar = EnterSphere(start_across, way_across, radius_m);
  if (bar == kMiss) return kMiss;
  const double along = start_along + bar * way_along;
  if (along >= 0 && along <= length2) return bar;
  return along < 0 ? EnterSphere(start, way, radius_m) : EnterSphere(start - axis, way, radius_m);
}

double RayEntry(const Shape& shape, const Eigen::Isometry3d& X_WS, const Eigen::Vector3d& from, const Eigen::Vector3d& to) {
  if (shape.kind == ShapeKind::kHull) return EnterHull(MakeSolid(shape, X_WS), from, to - from);
  const Eigen::Matrix3d R_SW = X_WS.linear().transpose();
  const Eigen::Vector3d start = R_SW * (from - X_WS.translation()), way = R_SW * (to - from);
  Span span;
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return EnterSphere(start, way, shape.radius_m);
    case ShapeKind::kCapsule: {
      const Eigen::Vector3d half(0, 0, shape.half_length_m);
      return RayEntryCapsule(-half, half, shape.radius_m, start, start + way);
    }
    case ShapeKind::kCylinder:
      ClipSlab(start.z(), way.z(), shape.half_length_m, &span);
      if (!span.empty()) ClipBar(start, way, shape.radius_m, &span);
      break;
    case ShapeKind::kBox:
      for (int axis = 0; axis < 3; ++axis) ClipSlab(start[axis], way[axis], shape.half_m[axis], &span);
      break;
    case ShapeKind::kHull:
      break;
  }
  return span.empty() ? kMiss : span.in;
}

}  // namespace dryrig
