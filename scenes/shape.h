#pragma once

#include <Eigen/Geometry>
#include <string>
#include <vector>

namespace dryrig {

enum class ShapeKind { kSphere, kCapsule, kCylinder, kBox, kHull };

/// A convex solid in its own frame S, centred on the origin (a hull: where its points are). Metres.
struct Shape {
  ShapeKind kind = ShapeKind::kSphere;
  double radius_m = 0;                                 // sphere, capsule, cylinder
  double half_length_m = 0;                            // capsule: half its core segment; cylinder: half its height; along z
  Eigen::Vector3d half_m = Eigen::Vector3d::Zero();    // box: half extents
  std::vector<Eigen::Vector3d> points;                 // hull: its vertices

  static Shape Sphere(double radius_m);
  static Shape Capsule(double radius_m, double half_length_m);
  static Shape Cylinder(double radius_m, double half_length_m);
  static Shape Box(const Eigen::Vector3d& half_m);
  static Shape Hull(std::vector<Eigen::Vector3d> points);

  /// Radius of the least sphere about the origin of S that holds the solid.
  double BoundingRadius() const;
  /// From the origin of S down to its lowest point.
  double Below() const;
};

/// A solid fixed to a frame L (an arm link, the world), under a name a person can read.
struct Body {
  std::string name;
  Shape shape;
  Eigen::Isometry3d X_LS = Eigen::Isometry3d::Identity();
};

}  // namespace dryrig
