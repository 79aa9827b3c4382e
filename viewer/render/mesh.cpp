#include "viewer/render/mesh.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "scenes/hull.h"

namespace dryrig {

namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;

uint32_t AddVertex(Mesh* mesh, const Vector3d& point, const Vector3d& normal) {
  mesh->points.push_back(point.cast<float>());
  mesh->normals.push_back(normal.cast<float>());
  return static_cast<uint32_t>(mesh->points.size() - 1);
}

void AddTriangle(Mesh* mesh, uint32_t a, uint32_t b, uint32_t c) {
  mesh->triangles.insert(mesh->triangles.end(), {a, b, c});
}

Vector3d Round(int k, int segments) {
  const double turn = 2 * std::numbers::pi * k / segments;
  return {std::cos(turn), std::sin(turn), 0};
}

/// A ring of vertices about z; its first index.
uint32_t AddRing(Mesh* mesh, int segments, double radius, double z, double normal_across, double normal_z) {
  const auto first = static_cast<uint32_t>(mesh->points.size());
  for (int k = 0; k < segments; ++k) {
    const Vector3d out = Round(k, segments);
    AddVertex(mesh, radius * out + Vector3d(0, 0, z), normal_across * out + Vector3d(0, 0, normal_z));
  }
  return first;
}

/// The band between two rings, the second one higher.
void AddBand(Mesh* mesh, uint32_t low, uint32_t high, int segments) {
  for (int k = 0; k < segments; ++k) {
    const auto a = static_cast<uint32_t>(k), b = static_cast<uint32_t>((k + 1) % segments);
    AddTriangle(mesh, low + a, low + b, high + b);
    AddTriangle(mesh, low + a, high + b, high + a);
  }
}

/// The fan from a ring to a vertex above it (or below).
void AddFan(Mesh* mesh, uint32_t ring, uint32_t tip, int segments, bool above) {
  for (int k = 0; k < segments; ++k) {
    const auto a = static_cast<uint32_t>(k), b = static_cast<uint32_t>((k + 1) % segments);
    if (above)
      AddTriangle(mesh, ring + a, ring + b, tip);
    else
      AddTriangle(mesh, ring + b, ring + a, tip);
  }
}

/// Rings of a half ball from its equator at `z` up, then its pole.
void AddDome(Mesh* mesh, uint32_t equator, double radius, double z, int segments) {
  const int rings = segments / 4;
  uint32_t below = equator;
  for (int i = 1; i < rings; ++i) {
    const double rise = 0.5 * std::numbers::pi * i / rings, c = std::cos(rise), s = std::sin(rise);
    const uint32_t ring = AddRing(mesh, segments, radius * c, z + radius * s, c, s);
    AddBand(mesh, below, ring, segments);
    below = ring;
  }
  AddFan(mesh, below, AddVertex(mesh, {0, 0, z + radius}, Vector3d::UnitZ()), segments, true);
}

/// A capsule; a ball where the core has no length.
Mesh RoundMesh(double radius, double half_core, double tolerance_m) {
  const int segments = RoundSegments(radius, tolerance_m), rings = segments / 4;
  Mesh mesh;
  // From the south pole up, so that both halves share the equator of a ball.
  const uint32_t pole = AddVertex(&mesh, {0, 0, -half_core - radius}, -Vector3d::UnitZ());
  uint32_t below = pole;
  for (int i = rings - 1; i > 0; --i) {
    const double fall = 0.5 * std::numbers::pi * i / rings, c = std::cos(fall), s = std::sin(fall);
    const uint32_t ring = AddRing(&mesh, segments, radius * c, -half_core - radius * s, c, -s);
    if (below == pole)
      AddFan(&mesh, ring, pole, segments, false);
    else
      AddBand(&mesh, below, ring, segments);
    below = ring;
  }
  uint32_t equator = AddRing(&mesh, segments, radius, -half_core, 1, 0);
  AddBand(&mesh, below, equator, segments);
  if (half_core > 0) {
    const uint32_t upper = AddRing(&mesh, segments, radius, half_core, 1, 0);
    AddBand(&mesh, equator, upper, segments);
    equator = upper;
  }
  AddDome(&mesh, equator, radius, half_core, segments);
  return mesh;
}

Mesh CylinderMesh(double radius, double half, double tolerance_m) {
  const int segments = RoundSegments(radius, tolerance_m);
  Mesh mesh;
  const uint32_t low = AddRing(&mesh, segments, radius, -half, 1, 0);
  AddBand(&mesh, low, AddRing(&mesh, segments, radius, half, 1, 0), segments);
  const uint32_t bottom = AddRing(&mesh, segments, radius, -half, 0, -1);
  AddFan(&mesh, bottom, AddVertex(&mesh, {0, 0, -half}, -Vector3d::UnitZ()), segments, false);
  const uint32_t top = AddRing(&mesh, segments, radius, half, 0, 1);
  AddFan(&mesh, top, AddVertex(&mesh, {0, 0, half}, Vector3d::UnitZ()), segments, true);
  return mesh;
}

Mesh BoxMesh(const Vector3d& half) {
  Mesh mesh;
  for (int axis = 0; axis < 3; ++axis) {
    for (const double side : {-1.0, 1.0}) {
      const Vector3d normal = side * Vector3d::Unit(axis);
      const Vector3d u = Vector3d::Unit((axis + 1) % 3), v = normal.cross(u);
      const auto at = [&](double a, double b) { return AddVertex(&mesh, half.cwiseProduct(normal + a * u + b * v), normal); };
      const uint32_t first = at(-1, -1);
      at(1, -1);
      at(1, 1);
      at(-1, 1);
      AddTriangle(&mesh, first, first + 1, first + 2);
      AddTriangle(&mesh, first, first + 2, first + 3);
    }
  }
  return mesh;
}

double Cross(const Vector2d& o, const Vector2d& a, const Vector2d& b) {
  return (a.x() - o.x()) * (b.y() - o.y()) - (a.y() - o.y()) * (b.x() - o.x());
}

/// Corners of the points' convex polygon, counter-clockwise (Andrew's monotone chain).
std::vector<size_t> Polygon(const std::vector<Vector2d>& points, double sliver_m2) {
  std::vector<size_t> order(points.size()), hull;
  for (size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(), [&](size_t a, size_t b) {
    return points[a].x() != points[b].x() ? points[a].x() < points[b].x() : points[a].y() < points[b].y();
  });
  for (const bool upper : {false, true}) {
    const size_t begin = hull.size();
    for (size_t n = 0; n < order.size(); ++n) {
      const size_t i = order[upper ? order.size() - 1 - n : n];
      while (hull.size() >= begin + 2 && Cross(points[hull[hull.size() - 2]], points[hull.back()], points[i]) <= sliver_m2)
        hull.pop_back();
      hull.push_back(i);
    }
    hull.pop_back();  // the first of the other chain
  }
  return hull;
}

Mesh HullMesh(const std::vector<Vector3d>& points) {
  double size = 0;
  for (const Vector3d& p : points) size = std::max(size, (p - points[0]).norm());
  Mesh mesh;
  for (const HalfSpace& plane : HullPlanes(points)) {
    const Vector3d u = plane.normal.unitOrthogonal(), v = plane.normal.cross(u);
    std::vector<Vector2d> flat;
    std::vector<Vector3d> on;
    for (const Vector3d& p : points) {
      if (plane.normal.dot(p) < plane.offset_m - 1e-8 * size) continue;
      on.push_back(p);
      flat.emplace_back(u.dot(p), v.dot(p));
    }
    const std::vector<size_t> corners = Polygon(flat, 1e-9 * size * size);
    if (corners.size() < 3) continue;
    const auto first = static_cast<uint32_t>(mesh.points.size());
    for (const size_t i : corners) AddVertex(&mesh, on[i], plane.normal);
    for (uint32_t k = 2; k < corners.size(); ++k) AddTriangle(&mesh, first, first + k - 1, first + k);
  }
  return mesh;
}

}  // namespace

int RoundSegments(double radius_m, double tolerance_m) {
  // A facet of a ball between neighbouring rings and meridians lies on a circle of radius r·(2π/n)/√2 at most, and so dips
  // r·π²/n² below the surface.
  const double n = std::numbers::pi * std::sqrt(radius_m / tolerance_m);
  return std::clamp(4 * static_cast<int>(std::ceil(n / 4)), 12, 96);
}

Mesh MeshOf(const Shape& shape, double tolerance_m) {
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return RoundMesh(shape.radius_m, 0, tolerance_m);
    case ShapeKind::kCapsule:
      return RoundMesh(shape.radius_m, shape.half_length_m, tolerance_m);
    case ShapeKind::kCylinder:
      return CylinderMesh(shape.radius_m, shape.half_length_m, tolerance_m);
    case ShapeKind::kBox:
      return BoxMesh(shape.half_m);
    case ShapeKind::kHull:
      break;
  }
  return HullMesh(shape.points);
}

Mesh DomeMesh(int segments) {
  Mesh mesh;
  AddDome(&mesh, AddRing(&mesh, segments, 1, 0, 1, 0), 1, 0, segments);
  return mesh;
}

Mesh TubeMesh(int segments) {
  Mesh mesh;
  const uint32_t low = AddRing(&mesh, segments, 1, 0, 1, 0);
  AddBand(&mesh, low, AddRing(&mesh, segments, 1, 1, 1, 0), segments);
  return mesh;
}

Mesh ClothMesh(const Vector3d& half, double rim) {
  constexpr int kParts = 8;
  constexpr double kRound = 0.6;  // share of the way from the rim to the first corner that is rounded
  const auto height = [&](double x, double y) {
    const double inward = std::clamp((1 - x - y) / kRound, 0.0, 1.0);
    const double flat = half.dot(Vector3d(1 - x - y, x, y));
    return rim + std::max(0.0, flat - rim) * std::sqrt(1 - (1 - inward) * (1 - inward));
  };
  Mesh mesh;
  for (const double side : {-1.0, 1.0}) {
    std::vector<std::vector<uint32_t>> rows;
    for (int i = 0; i <= kParts; ++i) {
      rows.emplace_back();
      for (int k = 0; k <= kParts - i; ++k) {
        const double x = static_cast<double>(i) / kParts, y = static_cast<double>(k) / kParts, h = 0.5 / kParts;
        const Vector3d slope(height(x + h, y) - height(x - h, y), height(x, y + h) - height(x, y - h), 0);
        const Vector3d normal = (side * Vector3d::UnitZ() - slope / (2 * h)).normalized();
        rows.back().push_back(AddVertex(&mesh, {x, y, side * height(x, y)}, normal));
      }
    }
    const auto add = [&](uint32_t a, uint32_t b, uint32_t c) { AddTriangle(&mesh, a, side > 0 ? b : c, side > 0 ? c : b); };
    for (size_t i = 0; i + 1 < rows.size(); ++i) {
      for (size_t k = 0; k + 1 < rows[i].size(); ++k) {
        add(rows[i][k], rows[i + 1][k], rows[i][k + 1]);
        if (k + 2 < rows[i].size()) add(rows[i + 1][k], rows[i + 1][k + 1], rows[i][k + 1]);
      }
    }
  }
  const Vector3d out = Vector3d(1, 1, 0).normalized();
  const uint32_t first = AddVertex(&mesh, {1, 0, -rim}, out);
  AddVertex(&mesh, {0, 1, -rim}, out);
  AddVertex(&mesh, {0, 1, rim}, out);
  AddVertex(&mesh, {1, 0, rim}, out);
  AddTriangle(&mesh, first, first + 1, first + 2);
  AddTriangle(&mesh, first, first + 2, first + 3);
  return mesh;
}

Mesh DiscMesh(const std::vector<double>& radii_m, int segments) {
  Mesh mesh;
  const uint32_t middle = AddVertex(&mesh, Vector3d::Zero(), Vector3d::UnitZ());
  uint32_t inner = middle;
  for (const double radius : radii_m) {
    const uint32_t ring = AddRing(&mesh, segments, radius, 0, 0, 1);
    if (inner == middle)
      AddFan(&mesh, ring, middle, segments, true);
    else
      AddBand(&mesh, ring, inner, segments);
    inner = ring;
  }
  return mesh;
}

}  // namespace dryrig
