// Meshes become small convex solids that hold them; mesh files are found where URDF users keep them.
#include "scenes/mesh.h"

#include <cstdlib>
#include <limits>

#include "scenes/hull.h"
#include "scenes/inertia.h"
#include "tests/scenes/arm_files.h"
#include "tests/scenes/mesh_files.h"
#include "tests/scenes/refusal.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::AllOf;
using testing::HasSubstr;

std::vector<Vector3d> CornersOf(const std::vector<Triangle>& triangles) {
  std::vector<Vector3d> corners;
  for (const Triangle& t : triangles) corners.insert(corners.end(), t.begin(), t.end());
  return corners;
}

/// How far the farthest of these points lies outside the hull; negative: all inside.
double Outside(const std::vector<Vector3d>& points, const std::vector<Vector3d>& hull) {
  double most = -1;
  for (const HalfSpace& face : HullPlanes(hull)) {
    for (const Vector3d& p : points) most = std::max(most, face.normal.dot(p) - face.offset_m);
  }
  return most;
}

/// Largest coordinate along each axis, then smallest.
std::pair<Vector3d, Vector3d> Bounds(const std::vector<Vector3d>& points) {
  Vector3d hi = points.at(0), lo = points.at(0);
  for (const Vector3d& p : points) {
    hi = hi.cwiseMax(p);
    lo = lo.cwiseMin(p);
  }
  return {hi, lo};
}

TEST(Hull, ACubeHasSixFacesAndAnOctahedronEight) {
  EXPECT_EQ(HullPlanes(CornersOf(BoxTriangles({1, 1, 1}))).size(), 6u) << "corners given many times over";
  EXPECT_EQ(HullPlanes({{1, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {0, -1, 0}, {0, 0, 1}, {0, 0, -1}}).size(), 8u);
  EXPECT_TRUE(HullPlanes({{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0}}).empty()) << "a square spans no volume";
  EXPECT_TRUE(HullPlanes({{0, 0, 0}}).empty());
}

TEST(Hull, EvenDirectionsAreUnitAndEven) {
  Vector3d sum = Vector3d::Zero();
  for (int i = 0; i < 500; ++i) {
    EXPECT_NEAR(EvenDirection(i, 500).norm(), 1, 1e-15);
    sum += EvenDirection(i, 500) / 500;
  }
  EXPECT_LT(sum.norm(), 1e-3);
}

TEST(Hull, AFewCornersAreKeptExactly) {
  std::vector<Vector3d> cloud = CornersOf(BoxTriangles({0.3, 0.05, 0.02}, {1, 2, 3}));
  cloud.emplace_back(1, 2, 3);  // inside
  const ReducedHull hull = ReduceToHull(cloud, 64);
  EXPECT_EQ(hull.points.size(), 8u);
  EXPECT_EQ(hull.cloud_points, 9u);
  EXPECT_LT(hull.excess_m, 1e-12);
  EXPECT_FALSE(hull.thickened);
  EXPECT_LT(Outside(cloud, hull.points), 1e-12);
}

// Bodies of many forms, turned so that no axis is a lucky one: the hull holds every point and its excess is what it says.
TEST(Hull, HoldsEveryPointAndIsNoLargerThanItSays) {
  const Eigen::Matrix3d turn = (Eigen::AngleAxisd(0.7, Vector3d(1, 2, 3).normalized())).toRotationMatrix();
  std::vector<std::vector<Vector3d>> clouds;
  for (const Vector3d& half : {Vector3d(0.1, 0.1, 0.1), Vector3d(0.05, 0.05, 0.4), Vector3d(0.3, 0.2, 0.01)}) {
    clouds.push_back(CornersOf(EllipsoidTriangles(half, 30, 60)));
  }
  std::vector<Vector3d> tube;  // a cylinder with hundreds of corners on flat ends
  for (int i = 0; i < 360; ++i) {
    for (const double z : {-0.2, 0.2})
      tube.emplace_back(0.06 * std::cos(i * std::numbers::pi / 180), 0.06 * std::sin(i * std::numbers::pi / 180), z);
  }
  clouds.push_back(tube);
  for (size_t k = 0; k < clouds.size(); ++k) {
    SCOPED_TRACE(k);
    for (Vector3d& p : clouds[k]) p = (turn * p + Vector3d(0.5, -0.2, 0.1)).cast<float>().cast<double>();  // as STL stores them
    const ReducedHull hull = ReduceToHull(clouds[k], 64);
    EXPECT_LE(hull.points.size(), 64u);
    EXPECT_LT(Outside(clouds[k], hull.points), 1e-9);
    const double size = (Bounds(clouds[k]).first - Bounds(clouds[k]).second).norm();
    EXPECT_LT(hull.excess_m, 0.04 * size) << "64 corners hold a ball of radius r within about r/10";
    // No corner is farther than the stated excess outside the cloud, seen along any direction.
    for (int i = 0; i < 300; ++i) {
      const Vector3d u = EvenDirection(i, 300);
      double cloud_top = -1e9, hull_top = -1e9;
      for (const Vector3d& p : clouds[k]) cloud_top = std::max(cloud_top, u.dot(p));
      for (const Vector3d& p : hull.points) hull_top = std::max(hull_top, u.dot(p));
      EXPECT_LE(hull_top - cloud_top, hull.excess_m + 1e-12);
    }
  }
}

TEST(Hull, GivesAFlatOrSinglePointCloudAMillimetre) {
  for (const std::vector<Vector3d>& cloud :
       {std::vector<Vector3d>{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}}, {{1, 1, 1}}, {{0, 0, 0}, {0, 0, 2}}}) {
    const ReducedHull hull = ReduceToHull(cloud, 64);
    EXPECT_TRUE(hull.thickened);
    EXPECT_FALSE(HullPlanes(hull.points).empty()) << "it spans a volume";
    EXPECT_LT(Outside(cloud, hull.points), 1e-12);
    EXPECT_LT(hull.excess_m, 2e-3);
  }
}

TEST(Inertia, OfAHullIsThatOfItsBox) {
  const Vector3d half(0.1, 0.05, 0.2), centre(0.3, -0.1, 0.5);
  const MassProperties box = SolidOf(Shape::Box(half), 1000);
  const MassProperties hull = SolidOf(Shape::Hull(CornersOf(BoxTriangles(half, centre))), 1000);
  EXPECT_NEAR(hull.mass_kg, box.mass_kg, 0.01 * box.mass_kg);
  EXPECT_LT((hull.p_ACom - centre).norm(), 0.002);
  EXPECT_LT((hull.I_ACom - box.I_ACom).norm(), 0.02 * box.I_ACom.norm());
}

// Closed forms of the solids (any table of moments of inertia); a capsule without length is a sphere, and halves add up.
TEST(Inertia, OfSolidsIsTheTextbooks) {
  const double m_ball = 1000 * 4.0 / 3 * std::numbers::pi * 1e-3;
  EXPECT_NEAR(SolidOf(Shape::Sphere(0.1), 1000).mass_kg, m_ball, 1e-12);
  EXPECT_NEAR(SolidOf(Shape::Sphere(0.1), 1000).I_ACom(0, 0), 0.4 * m_ball * 0.01, 1e-12);
  EXPECT_TRUE(SolidOf(Shape::Capsule(0.1, 0), 1000).I_ACom.isApprox(SolidOf(Shape::Sphere(0.1), 1000).I_ACom, 1e-12));
  MassProperties halves;  // a cylinder is two shorter ones
  for (const double z : {-0.1, 0.1}) {
    halves = Sum(halves, SeenFrom(Eigen::Isometry3d(Eigen::Translation3d(0, 0, z)), SolidOf(Shape::Cylinder(0.05, 0.1), 700)));
  }
  EXPECT_TRUE(halves.I_ACom.isApprox(SolidOf(Shape::Cylinder(0.05, 0.2), 700).I_ACom, 1e-12));
  // A long capsule against the sum of its parts: half balls have their centre 3/8·r from the flat and 2/5·m·r² about it.
  const double r = 0.05, l = 0.3, half_ball = 1000 * 2.0 / 3 * std::numbers::pi * r * r * r;
  const MassProperties tube = SolidOf(Shape::Cylinder(r, l / 2), 1000);
  const double about_com = half_ball * r * r * (0.4 - 0.375 * 0.375);
  const double across = tube.I_ACom(0, 0) + 2 * (about_com + half_ball * std::pow(l / 2 + 0.375 * r, 2));
  EXPECT_NEAR(SolidOf(Shape::Capsule(r, l / 2), 1000).I_ACom(0, 0), across, 1e-12);
}

TEST(Mesh, ReadsStlOfBothKindsWithScale) {
  const TestFolder folder;
  const std::vector<Triangle> box = BoxTriangles({100, 50, 20}, {10, 0, 0});
  for (const auto& file : {folder.Write("a.stl", BinaryStl(box)), folder.Write("b.STL", AsciiStl(box))}) {
    const MeshHull hull = ReadMeshHull(file, Vector3d::Constant(0.001));
    EXPECT_EQ(hull.vertices, 8u);
    EXPECT_EQ(hull.shape.points.size(), 8u);
    const auto [hi, lo] = Bounds(hull.shape.points);
    EXPECT_TRUE(hi.isApprox(Vector3d(0.11, 0.05, 0.02), 1e-6));
    EXPECT_TRUE(lo.isApprox(Vector3d(-0.09, -0.05, -0.02), 1e-6));
  }
}

// 10 units of 20 mm: the node's translation is scaled with the mesh; the up axis changes nothing, as rviz has it.
TEST(Mesh, ReadsDaeWithItsUnitAndNodesButNotItsUpAxis) {
  const TestFolder folder;
  for (const char* up : {"Z_UP", "Y_UP"}) {
    const MeshHull hull = ReadMeshHull(folder.Write("a.dae", DaeBox("0.02", up)), Vector3d::Ones());
    const auto [hi, lo] = Bounds(hull.shape.points);
    EXPECT_TRUE(hi.isApprox(Vector3d(0.22, 0.04, 0.06), 1e-6)) << up << " " << hi.transpose();
    EXPECT_TRUE(lo.isApprox(Vector3d(0.18, -0.04, -0.06), 1e-6)) << up << " " << lo.transpose();
  }
}

TEST(Mesh, ReadsAllPartsOfAnObj) {
  const TestFolder folder;
  const auto file = folder.Write(
      "a.obj", "mtllib gone.mtl\no one\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\no two\nv 0 0 5\nv 1 0 5\nv 0 1 5\nf 4 5 6\n");
  EXPECT_DOUBLE_EQ(Bounds(ReadMeshHull(file, Vector3d::Ones()).shape.points).first.z(), 5);
}

TEST(Mesh, AMirroringScaleIsAScale) {
  const TestFolder folder;
  const auto file = folder.Write("a.stl", BinaryStl(BoxTriangles({1, 1, 1}, {3, 0, 0})));
  EXPECT_NEAR(Bounds(ReadMeshHull(file, Vector3d(-1, 1, 1)).shape.points).first.x(), -2, 1e-6);
}

TEST(Mesh, TenMegabytesTakeUnderTwoSeconds) {
  const TestFolder folder;
  const auto file = folder.Write("ball.stl", BinaryStl(EllipsoidTriangles({0.1, 0.1, 0.1}, 330, 330)));
  ASSERT_GT(std::filesystem::file_size(file), 10'000'000u);
  const double start = CpuSeconds();
  const MeshHull hull = ReadMeshHull(file, Vector3d::Ones());
  const double took = CpuSeconds() - start;
  RecordProperty("seconds", std::to_string(took));
  RecordProperty("excess_mm", std::to_string(1e3 * hull.excess_m));
  EXPECT_LT(took, 2 * kSlowdown);
  EXPECT_LE(hull.shape.points.size(), 64u);
  EXPECT_LT(hull.excess_m, 0.012);
}

TEST(Mesh, RefusesWhatIsNone) {
  const TestFolder folder;
  std::vector<Triangle> bad = BoxTriangles({1, 1, 1});
  bad[0][0].x() = std::numeric_limits<double>::quiet_NaN();
  const std::string whole = BinaryStl(BoxTriangles({1, 1, 1}));
  const std::vector<std::pair<std::filesystem::path, std::string>> rows{
      {folder.path() / "gone.stl", "gone.stl"},
      {folder.Write("empty.stl", ""), "empty.stl"},
      {folder.Write("noise.stl", std::string(300, 'x')), "noise.stl"},
      {folder.Write("cut.stl", whole.substr(0, whole.size() - 30)), "cut.stl"},
      {folder.Write("noise.dae", "<COLLADA"), "noise.dae"},
      {folder.Write("what.zzz", "hello"), "what.zzz"},
      {folder.Write("nan.stl", BinaryStl(bad)), "not finite"},
      {folder.Write("large.stl", BinaryStl(BoxTriangles({200, 1, 1}))), "0.001 for millimetres"},
  };
  for (const auto& [file, word] : rows) {
    SCOPED_TRACE(file);
    ExpectWords(Refusal([&, &f = file] { ReadMeshHull(f, Vector3d::Ones()); }), {file.string(), word});
  }
}

TEST(FindMesh, LooksBesideTheUrdfThenAboveThenInPackagePaths) {
  const TestFolder folder;
  const std::filesystem::path urdf = folder.Write("ws/src/arm_description/urdf/arm.urdf", "");
  const std::filesystem::path extra = folder.path() / "extra";
  const auto find = [&](const std::string& uri) { return FindMesh(uri, urdf, {extra}); };

  const auto in_extra = folder.Write("extra/arm_description/meshes/a.stl", "x");
  EXPECT_EQ(find("package://arm_description/meshes/a.stl"), in_extra);
  const auto in_package = folder.Write("ws/src/arm_description/meshes/a.stl", "x");
  EXPECT_EQ(find("package://arm_description/meshes/a.stl"), in_package) << "above the URDF comes before the package paths";
  EXPECT_EQ(find("model://arm_description/meshes/a.stl"), in_package);
  EXPECT_EQ(find("../meshes/a.stl"), in_package);
  EXPECT_EQ(find("file://" + in_extra.string()), in_extra);
  EXPECT_EQ(find(in_extra.string()), in_extra);
  const auto beside = folder.Write("ws/src/arm_description/urdf/arm_description/meshes/a.stl", "x");
  EXPECT_EQ(find("package://arm_description/meshes/a.stl"), beside) << "the URDF's own folder is first";
}

TEST(FindMesh, FindsAPackageWhoseFolderHasAnotherName) {
  const TestFolder folder;
  const std::filesystem::path urdf = folder.Write("copied/urdf/arm.urdf", "");
  const auto mesh = folder.Write("copied/meshes/a.stl", "x");
  EXPECT_EQ(FindMesh("package://arm_description/meshes/a.stl", urdf, {}), mesh);
}

TEST(FindMesh, TakesRosPackagePathLast) {
  const TestFolder folder;
  const std::filesystem::path urdf = folder.Write("a/arm.urdf", "");
  const auto mesh = folder.Write("ros/pkg/a.stl", "x");
  const char* before = std::getenv("ROS_PACKAGE_PATH");
  const std::string kept = before == nullptr ? "" : before;
  setenv("ROS_PACKAGE_PATH", ("/nowhere::" + (folder.path() / "ros").string()).c_str(), 1);
  EXPECT_EQ(FindMesh("package://pkg/a.stl", urdf, {}), mesh);
  const auto given = folder.Write("given/pkg/a.stl", "x");
  EXPECT_EQ(FindMesh("package://pkg/a.stl", urdf, {folder.path() / "given"}), given);
  setenv("ROS_PACKAGE_PATH", kept.c_str(), 1);
}

TEST(FindMesh, ListsThePlacesTried) {
  const TestFolder folder;
  const std::filesystem::path urdf = folder.Write("ws/arm.urdf", "");
  try {
    FindMesh("package://pkg/meshes/a.stl", urdf, {folder.path() / "extra"});
    FAIL() << "found a file that is not there";
  } catch (const InputError& e) {
    for (const char* place : {"ws/pkg/meshes/a.stl", "extra/pkg/meshes/a.stl"})
      EXPECT_THAT(e.what(), HasSubstr((folder.path() / place).string()));
    EXPECT_THAT(e.what(), AllOf(HasSubstr("arm.urdf: mesh \"package://pkg/meshes/a.stl\" is not found"),
                                HasSubstr("--package-path"), HasSubstr("ROS_PACKAGE_PATH")));
  }
}

}  // namespace
}  // namespace dryrig
