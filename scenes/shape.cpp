#include "scenes/shape.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace dryrig {

Shape Shape::Sphere(double radius_m) {
  Shape s;
  s.kind = ShapeKind::kSphere;
  s.radius_m = radius_m;
  return s;
}

Shape Shape::Capsule(double radius_m, double half_length_m) {
  Shape s = Sphere(radius_m);
  s.kind = ShapeKind::kCapsule;
  s.half_length_m = half_length_m;
  return s;
}

Shape Shape::Cylinder(double radius_m, double half_length_m) {
  Shape s = Capsule(radius_m, half_length_m);
  s.kind = ShapeKind::kCylinder;
  return s;
}

Shape Shape::Box(const Eigen::Vector3d& half_m) {
  Shape s;
  s.kind = ShapeKind::kBox;
  s.half_m = half_m;
  return s;
}

Shape Shape::Hull(std::vector<Eigen::Vector3d> points) {
  Shape s;
  s.kind = ShapeKind::kHull;
  s.points = std::move(points);
  return s;
}

double Shape::BoundingRadius() const {
  switch (kind) {
    case ShapeKind::kSphere: return radius_m;
    case ShapeKind::kCapsule: return half_length_m + radius_m;
    case ShapeKind::kCylinder: return std::hypot(half_length_m, radius_m);
    case ShapeKind::kBox: return half_m.norm();
    case ShapeKind::kHull: {
      double squared = 0;
      for (const Eigen::Vector3d& p : points) squared = std::max(squared, p.squaredNorm());
      return std::sqrt(squared);
    }
  }
  return 0;
}

double Shape::Below() const {
  switch (kind) {
    case ShapeKind::kSphere: return radius_m;
    case ShapeKind::kCapsule: return half_length_m + radius_m;
    case ShapeKind::kCylinder: return half_length_m;
    case ShapeKind::kBox: return half_m.z();
    case ShapeKind::kHull: break;
  }
  double below_m = -std::numeric_limits<double>::infinity();
  for (const Eigen::Vector3d& p : points) below_m = std::max(below_m, -p.z());
  return below_m;
}

}  // namespace dryrig
