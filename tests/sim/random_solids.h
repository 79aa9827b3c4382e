#pragma once

#include <Eigen/Geometry>
#include <array>
#include <vector>

#include "scenes/shape.h"
#include "sim/rng.h"

namespace dryrig::testing {

inline constexpr std::array kAllKinds{ShapeKind::kSphere, ShapeKind::kCapsule, ShapeKind::kCylinder, ShapeKind::kBox,
                                      ShapeKind::kHull};

inline Eigen::Vector3d RandomPoint(RandomStream* random, double half_m) {
  const double x = random->Uniform(-half_m, half_m), y = random->Uniform(-half_m, half_m);
  return {x, y, random->Uniform(-half_m, half_m)};
}

inline Eigen::Isometry3d RandomPose(RandomStream* random, double half_m) {
  Eigen::Vector4d q;
  for (double& part : q) part = random->Normal();
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  X.linear() = Eigen::Quaterniond(q).normalized().toRotationMatrix();
  X.translation() = RandomPoint(random, half_m);
  return X;
}

/// Sizes of arm links and limbs: 1 to 30 cm.
inline Shape RandomShape(RandomStream* random, ShapeKind kind) {
  const double a = random->Uniform(0.01, 0.2), b = random->Uniform(0.01, 0.3), c = random->Uniform(0.01, 0.3);
  switch (kind) {
    case ShapeKind::kSphere:
      return Shape::Sphere(a);
    case ShapeKind::kCapsule:
      return Shape::Capsule(a, b);
    case ShapeKind::kCylinder:
      return Shape::Cylinder(a, b);
    case ShapeKind::kBox:
      return Shape::Box({a, b, c});
    case ShapeKind::kHull:
      break;
  }
  std::vector<Eigen::Vector3d> points;
  for (int i = 0; i < 24; ++i) points.push_back(RandomPoint(random, b));
  return Shape::Hull(points);
}

/// Corners of a box, for a hull that is one.
inline std::vector<Eigen::Vector3d> BoxCorners(const Eigen::Vector3d& half_m) {
  std::vector<Eigen::Vector3d> corners;
  for (int i = 0; i < 8; ++i)
    corners.push_back(half_m.cwiseProduct(Eigen::Vector3d(i & 1 ? 1 : -1, i & 2 ? 1 : -1, i & 4 ? 1 : -1)));
  return corners;
}

/// Signed distance of a point in S from a solid's surface, by each solid's own formula; hulls have none.
inline double PointDistance(const Shape& shape, const Eigen::Vector3d& p_S) {
  const auto outside_box = [](const auto& over) { return over.cwiseMax(0).matrix().norm() + std::min(over.maxCoeff(), 0.0); };
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return p_S.norm() - shape.radius_m;
    case ShapeKind::kCapsule: {
      const double z = std::clamp(p_S.z(), -shape.half_length_m, shape.half_length_m);
      return (p_S - Eigen::Vector3d(0, 0, z)).norm() - shape.radius_m;
    }
    case ShapeKind::kCylinder: {
      return outside_box(Eigen::Vector2d(p_S.head<2>().norm() - shape.radius_m, std::abs(p_S.z()) - shape.half_length_m));
    }
    case ShapeKind::kBox:
      return outside_box(Eigen::Vector3d(p_S.cwiseAbs() - shape.half_m));
    case ShapeKind::kHull:
      break;
  }
  return 0;
}

}  // namespace dryrig::testing
