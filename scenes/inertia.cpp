#include "scenes/inertia.h"

#include <cmath>
#include <limits>
#include <numbers>

#include "scenes/hull.h"

namespace dryrig {

namespace {

using Eigen::Matrix3d;
using Eigen::Vector3d;

/// m·(|p|²·1 − p·pᵀ): what a point mass at p adds.
Matrix3d PointInertia(double mass_kg, const Vector3d& p) {
  return mass_kg * (p.squaredNorm() * Matrix3d::Identity() - p * p.transpose());
}

/// Inertia of a body with these second moments ∫ρ·x·xᵀ.
Matrix3d FromSecondMoments(const Matrix3d& moments) {
  return moments.trace() * Matrix3d::Identity() - moments;
}

/// About the z axis and across it.
Matrix3d RoundInertia(double across, double along) {
  return Vector3d(across, across, along).asDiagonal();
}

MassProperties SolidHull(const Shape& shape, double density_kg_m3) {
  // Radial integration about an inner point: a cone of solid angle w along u up to distance r holds the volume w·r³/3, the
  // first moment w·r⁴/4·u and the second w·r⁵/5·u·uᵀ.
  constexpr int kDirections = 2000;
  Vector3d inner = Vector3d::Zero();
  for (const Vector3d& p : shape.points) inner += p / double(shape.points.size());
  const std::vector<HalfSpace> planes = HullPlanes(shape.points);
  double volume = 0;
  Vector3d first = Vector3d::Zero();
  Matrix3d second = Matrix3d::Zero();
  const double w = 4 * std::numbers::pi / kDirections;
  for (int i = 0; i < kDirections; ++i) {
    const Vector3d u = EvenDirection(i, kDirections);
    double r = std::numeric_limits<double>::infinity();
    for (const HalfSpace& plane : planes) {
      const double slope = plane.normal.dot(u);
      if (slope > 1e-12) r = std::min(r, (plane.offset_m - plane.normal.dot(inner)) / slope);
    }
    if (!std::isfinite(r) || r < 0) continue;
    volume += w * r * r * r / 3;
    first += w * r * r * r * r / 4 * u;
    second += w * std::pow(r, 5) / 5 * u * u.transpose();
  }
  MassProperties out;
  if (volume <= 0) return out;
  const Vector3d to_com = first / volume;
  out.mass_kg = density_kg_m3 * volume;
  out.p_ACom = inner + to_com;
  out.I_ACom = density_kg_m3 * FromSecondMoments(second - volume * to_com * to_com.transpose());
  return out;
}

}  // namespace

MassProperties SeenFrom(const Eigen::Isometry3d& X_LA, const MassProperties& in_A) {
  MassProperties out;
  out.mass_kg = in_A.mass_kg;
  out.p_ACom = X_LA * in_A.p_ACom;
  out.I_ACom = X_LA.linear() * in_A.I_ACom * X_LA.linear().transpose();
  return out;
}

MassProperties Sum(const MassProperties& a, const MassProperties& b) {
  if (a.mass_kg <= 0) return b;
  if (b.mass_kg <= 0) return a;
  MassProperties out;
  out.mass_kg = a.mass_kg + b.mass_kg;
  out.p_ACom = (a.mass_kg * a.p_ACom + b.mass_kg * b.p_ACom) / out.mass_kg;
  out.I_ACom =
      a.I_ACom + PointInertia(a.mass_kg, a.p_ACom - out.p_ACom) + b.I_ACom + PointInertia(b.mass_kg, b.p_ACom - out.p_ACom);
  return out;
}

MassProperties SolidOf(const Shape& shape, double density_kg_m3) {
  const double pi = std::numbers::pi, r = shape.radius_m, h = 2 * shape.half_length_m;
  MassProperties out;
  switch (shape.kind) {
    case ShapeKind::kSphere:
      out.mass_kg = density_kg_m3 * 4.0 / 3 * pi * r * r * r;
      out.I_ACom = 0.4 * out.mass_kg * r * r * Matrix3d::Identity();
      break;
    case ShapeKind::kCylinder:
      out.mass_kg = density_kg_m3 * pi * r * r * h;
      out.I_ACom = out.mass_kg * RoundInertia((3 * r * r + h * h) / 12, r * r / 2);
      break;
    case ShapeKind::kCapsule: {
      const double tube = density_kg_m3 * pi * r * r * h, ends = density_kg_m3 * 4.0 / 3 * pi * r * r * r;
      out.mass_kg = tube + ends;
      out.I_ACom = RoundInertia(tube * (3 * r * r + h * h) / 12 + ends * (0.4 * r * r + 0.375 * r * h + 0.25 * h * h),
                                tube * r * r / 2 + ends * 0.4 * r * r);
      break;
    }
    case ShapeKind::kBox: {
      const Vector3d squares = shape.half_m.cwiseAbs2();
      out.mass_kg = density_kg_m3 * 8 * shape.half_m.prod();
      out.I_ACom = out.mass_kg / 3 * FromSecondMoments(squares.asDiagonal());
      break;
    }
    case ShapeKind::kHull:
      return SolidHull(shape, density_kg_m3);
  }
  return out;
}

MassProperties MassOf(const Link& link) {
  return {link.mass_kg, link.p_LCom, link.I_LCom};
}

void SetMass(Link* link, const MassProperties& mass) {
  link->mass_kg = mass.mass_kg;
  link->p_LCom = mass.p_ACom;
  link->I_LCom = mass.I_ACom;
}

}  // namespace dryrig
