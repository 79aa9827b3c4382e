// Meshes: closed, turned outward, and on the inner side of the true surface within tolerance.
#include <gtest/gtest.h>

#include <Eigen/Geometry>
#include <map>
#include <numbers>
#include <tuple>

#include "scenes/hull.h"
#include "tests/sim/random_solids.h"
#include "viewer/render/mesh.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;

Vector3d PointOf(const Mesh& mesh, size_t corner) {
  return mesh.points[mesh.triangles[corner]].cast<double>();
}

/// Edges that are not met exactly once in each sense, vertices at one place taken as one.
int OpenEdges(const Mesh& mesh) {
  using Place = std::tuple<float, float, float>;
  std::map<Place, int> places;
  const auto place = [&](size_t corner) {
    // Rounded to a micrometre: what rings and rims reckon twice may differ in the last bit.
    const Vector3d p = PointOf(mesh, corner);
    const auto rounded = [](double x) { return static_cast<float>(std::round(x * 1e6)); };
    return places.try_emplace({rounded(p.x()), rounded(p.y()), rounded(p.z())}, static_cast<int>(places.size())).first->second;
  };
  std::map<std::pair<int, int>, int> edges;
  for (size_t t = 0; t < mesh.triangles.size(); t += 3) {
    const int a = place(t), b = place(t + 1), c = place(t + 2);
    ++edges[{a, b}], ++edges[{b, c}], ++edges[{c, a}];
  }
  int open = 0;
  for (const auto& [edge, count] : edges) {
    const auto back = edges.find({edge.second, edge.first});
    open += count != 1 || back == edges.end() || back->second != 1;
  }
  return open;
}

double VolumeOf(const Mesh& mesh) {
  double volume = 0;
  for (size_t t = 0; t < mesh.triangles.size(); t += 3)
    volume += PointOf(mesh, t).dot(PointOf(mesh, t + 1).cross(PointOf(mesh, t + 2))) / 6;
  return volume;
}

double TrueVolume(const Shape& shape) {
  const double r = shape.radius_m, h = 2 * shape.half_length_m, pi = std::numbers::pi;
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return 4 * pi / 3 * r * r * r;
    case ShapeKind::kCapsule:
      return pi * r * r * (h + 4 * r / 3);
    case ShapeKind::kCylinder:
      return pi * r * r * h;
    case ShapeKind::kBox:
      return 8 * shape.half_m.prod();
    case ShapeKind::kHull:
      break;
  }
  return 0;
}

/// Normals point away from the triangle's inner side.
int WrongNormals(const Mesh& mesh) {
  int wrong = 0;
  for (size_t t = 0; t < mesh.triangles.size(); t += 3) {
    const Vector3d face = (PointOf(mesh, t + 1) - PointOf(mesh, t)).cross(PointOf(mesh, t + 2) - PointOf(mesh, t));
    for (size_t i = 0; i < 3; ++i) {
      const Vector3d normal = mesh.normals[mesh.triangles[t + i]].cast<double>();
      wrong += std::abs(normal.norm() - 1) > 1e-5 || normal.dot(face) <= 0;
    }
  }
  return wrong;
}

TEST(RenderMesh, EverySolidIsClosedTurnedOutwardAndInsideItsSurface) {
  RandomStream random(5, "meshes");
  for (const ShapeKind kind : testing::kAllKinds) {
    if (kind == ShapeKind::kHull) continue;
    for (int i = 0; i < 20; ++i) {
      const Shape shape = testing::RandomShape(&random, kind);
      SCOPED_TRACE(fmt::format("kind {}, number {}", static_cast<int>(kind), i));
      const double tolerance_m = 0.0005;
      const Mesh mesh = MeshOf(shape, tolerance_m);
      EXPECT_EQ(OpenEdges(mesh), 0);
      EXPECT_EQ(WrongNormals(mesh), 0);
      EXPECT_LE(VolumeOf(mesh), TrueVolume(shape) * (1 + 1e-6));
      for (size_t t = 0; t < mesh.triangles.size(); t += 3) {
        // Points of the triangle: corners, middles of edges, centroid. Single precision is 1e-7 of 0.5 m.
        const Vector3d a = PointOf(mesh, t), b = PointOf(mesh, t + 1), c = PointOf(mesh, t + 2);
        for (const Vector3d& p : {a, b, c, Vector3d((a + b) / 2), Vector3d((b + c) / 2), Vector3d((a + b + c) / 3)}) {
          const double outside = testing::PointDistance(shape, p);
          EXPECT_LT(outside, 1e-7);
          EXPECT_GT(outside, -tolerance_m);
        }
      }
    }
  }
}

TEST(RenderMesh, HullsHaveTheirOwnCornersAndPlanes) {
  RandomStream random(6, "hulls");
  std::vector<Shape> hulls{Shape::Hull(testing::BoxCorners({0.1, 0.2, 0.05}))};
  for (int i = 0; i < 10; ++i) hulls.push_back(testing::RandomShape(&random, ShapeKind::kHull));
  for (size_t i = 0; i < hulls.size(); ++i) {
    SCOPED_TRACE(i);
    const Mesh mesh = MeshOf(hulls[i]);
    EXPECT_EQ(OpenEdges(mesh), 0);
    EXPECT_EQ(WrongNormals(mesh), 0);
    for (const HalfSpace& plane : HullPlanes(hulls[i].points)) {
      double farthest = -1;
      for (size_t corner = 0; corner < mesh.triangles.size(); ++corner)
        farthest = std::max(farthest, plane.normal.dot(PointOf(mesh, corner)) - plane.offset_m);
      EXPECT_NEAR(farthest, 0, 1e-7);
    }
  }
  EXPECT_NEAR(VolumeOf(MeshOf(hulls[0])), 8 * 0.1 * 0.2 * 0.05, 1e-8);
  EXPECT_EQ(MeshOf(hulls[0]).triangles.size(), 36u);
}

// The parts that a limb is drawn with: two domes and a tube of any length, placed as a scene places them.
TEST(RenderMesh, DomesAndTubeCloseToACapsule) {
  for (const int segments : {12, 16, 32}) {
    Mesh limb;
    const auto add = [&](const Mesh& part, const Vector3d& scale, double z) {
      const auto first = static_cast<uint32_t>(limb.points.size());
      for (size_t i = 0; i < part.points.size(); ++i) {
        limb.points.push_back((scale.cwiseProduct(part.points[i].cast<double>()) + Vector3d(0, 0, z)).cast<float>());
        limb.normals.push_back((scale.cwiseInverse().cwiseProduct(part.normals[i].cast<double>())).normalized().cast<float>());
      }
      for (const uint32_t i : part.triangles) limb.triangles.push_back(first + i);
    };
    add(DomeMesh(segments), {0.03, -0.03, -0.03}, 0);
    add(DomeMesh(segments), {0.03, 0.03, 0.03}, 0.2);
    add(TubeMesh(segments), {0.03, 0.03, 0.2}, 0);
    EXPECT_EQ(OpenEdges(limb), 0);
    EXPECT_EQ(WrongNormals(limb), 0);
  }
}

TEST(RenderMesh, TheCheckerRejectsHolesAndTurnedTriangles) {
  Mesh hole = MeshOf(Shape::Sphere(0.1)), turned = hole;
  hole.triangles.resize(hole.triangles.size() - 3);
  EXPECT_EQ(OpenEdges(hole), 3);
  std::swap(turned.triangles[0], turned.triangles[1]);
  EXPECT_GT(OpenEdges(turned), 0);
  EXPECT_EQ(WrongNormals(turned), 3);
}

}  // namespace
}  // namespace dryrig
