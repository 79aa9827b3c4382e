#include "sim/distance.h"

#include <fcl/geometry/shape/box.h>
#include <fcl/geometry/shape/capsule.h>
#include <fcl/geometry/shape/cylinder.h>
#include <fcl/geometry/shape/sphere.h>
#include <fcl/narrowphase/collision.h>
#include <fcl/narrowphase/collision_object.h>
#include <fcl/narrowphase/distance.h>
#include <gtest/gtest.h>

#include <cmath>
#include <memory>

#include "tests/outside/listed.h"
#include "tests/sim/random_solids.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

std::shared_ptr<fcl::CollisionGeometryd> ToFcl(const Shape& shape) {
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return std::make_shared<fcl::Sphered>(shape.radius_m);
    case ShapeKind::kCapsule:
      return std::make_shared<fcl::Capsuled>(shape.radius_m, 2 * shape.half_length_m);
    case ShapeKind::kCylinder:
      return std::make_shared<fcl::Cylinderd>(shape.radius_m, 2 * shape.half_length_m);
    default:
      return std::make_shared<fcl::Boxd>(Vector3d(2 * shape.half_m));
  }
}

struct Scene {
  fcl::CollisionObjectd a, b;
};

Scene SceneOf(const Shape& a, const Isometry3d& X_WA, const Shape& b, const Isometry3d& X_WB) {
  return {fcl::CollisionObjectd(ToFcl(a), X_WA), fcl::CollisionObjectd(ToFcl(b), X_WB)};
}

// With a tolerance of its iteration well below what is asked of the comparison.
double FclDistance(const Scene& scene) {
  fcl::DistanceRequestd request;
  request.distance_tolerance = 1e-10;
  request.gjk_solver_type = fcl::GST_LIBCCD;
  fcl::DistanceResultd result;
  return fcl::distance(&scene.a, &scene.b, request, result);
}

bool FclMeets(const Scene& scene) {
  fcl::CollisionRequestd request;
  fcl::CollisionResultd result;
  return fcl::collide(&scene.a, &scene.b, request, result) > 0;
}

class AgainstFcl : public ::testing::TestWithParam<std::pair<ShapeKind, ShapeKind>> {};

TEST_P(AgainstFcl, DistancesOf1250PairsAgree) {
  const auto [kind_a, kind_b] = GetParam();
  RandomStream random(1, "fcl pairs");
  int apart = 0;
  while (apart < 1250) {  // of each of eight pairs of kinds: 10,000
    const Shape a = testing::RandomShape(&random, kind_a), b = testing::RandomShape(&random, kind_b);
    const Isometry3d X_WA = testing::RandomPose(&random, 0.5), X_WB = testing::RandomPose(&random, 0.5);
    const double ours = Distance(a, X_WA, b, X_WB).distance_m;
    if (ours < 1e-4) continue;
    ++apart;
    EXPECT_NEAR(ours, FclDistance(SceneOf(a, X_WA, b, X_WB)), 1e-6);
  }
}

TEST_P(AgainstFcl, TheSamePairsMeet) {
  const auto [kind_a, kind_b] = GetParam();
  RandomStream random(2, "fcl pairs");
  int meeting = 0;
  for (int i = 0; i < 1000; ++i) {
    const Shape a = testing::RandomShape(&random, kind_a), b = testing::RandomShape(&random, kind_b);
    const Isometry3d X_WA = testing::RandomPose(&random, 0.2), X_WB = testing::RandomPose(&random, 0.2);
    const double ours = Distance(a, X_WA, b, X_WB).distance_m;
    if (std::abs(ours) < 1e-5) continue;  // FCL's own tolerance decides there
    meeting += ours < 0;
    EXPECT_EQ(ours < 0, FclMeets(SceneOf(a, X_WA, b, X_WB))) << ours;
  }
  EXPECT_GT(meeting, 100);
  EXPECT_LT(meeting, 900);
}

INSTANTIATE_TEST_SUITE_P(
    Pairs, AgainstFcl,
    ::testing::Values(std::pair(ShapeKind::kSphere, ShapeKind::kSphere), std::pair(ShapeKind::kSphere, ShapeKind::kCapsule),
                      std::pair(ShapeKind::kSphere, ShapeKind::kBox), std::pair(ShapeKind::kCapsule, ShapeKind::kCapsule),
                      std::pair(ShapeKind::kCapsule, ShapeKind::kBox), std::pair(ShapeKind::kBox, ShapeKind::kBox),
                      std::pair(ShapeKind::kCylinder, ShapeKind::kCapsule), std::pair(ShapeKind::kCylinder, ShapeKind::kBox)));

// google-deepmind/mujoco, test/engine/engine_collision_gjk_test.cc, CapsuleCapsule: 0.4711.
TEST(PublishedDistance, MujocosTwoUprightCapsules) {
  Isometry3d X_WA = Isometry3d::Identity(), X_WB = Isometry3d::Identity();
  X_WA.translation() = Vector3d(-0.3, 0.2, -0.4);
  X_WB.translation() = Vector3d(0.3, 0.2, 0.4);
  const double d = Distance(Shape::Capsule(0.15, 0.3), X_WA, Shape::Capsule(0.1, 0.1), X_WB).distance_m;
  EXPECT_NEAR(d, 0.4711, 5e-5);
  EXPECT_NEAR(d, std::sqrt(0.6 * 0.6 + 0.4 * 0.4) - 0.25, 1e-15);
}

// Worked by hand: the cases on which a formula without care for parallel and zero-length segments divides by zero.
TEST(PublishedDistance, SegmentTable) {
  struct Row {
    const char* what;
    Vector3d p0, p1, q0, q1;
    double distance;
  };
  for (const Row& row : {Row{"parallel", {0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0}, 1},
                         Row{"on one line", {0, 0, 0}, {1, 0, 0}, {2, 0, 0}, {3, 0, 0}, 1},
                         Row{"crossing", {-1, 0, 0}, {1, 0, 0}, {0, -1, 0.5}, {0, 1, 0.5}, 0.5},
                         Row{"end to end", {0, 0, 0}, {1, 0, 0}, {1.5, 0.5, 0}, {1.5, 2, 0}, std::sqrt(0.5)},
                         Row{"skew", {0, 0, 0}, {1, 1, 0}, {1, 0, 1}, {0, 1, 1}, 1},
                         Row{"point and end", {0, 0, 0}, {0, 0, 0}, {3, 4, 0}, {3, 4, 5}, 5},
                         Row{"oblique", {0, 0, 0}, {2, 0, 0}, {3, 1, 0}, {5, 2, 1}, std::sqrt(2.0)},
                         Row{"two points", {0, 0, 0}, {0, 0, 0}, {1, 2, 2}, {1, 2, 2}, 3}}) {
    EXPECT_NEAR(std::sqrt(NearestOnSegments(row.p0, row.p1, row.q0, row.q1).squared_m2), row.distance, 1e-15) << row.what;
    EXPECT_NEAR(std::sqrt(NearestOnSegments(row.q0, row.q1, row.p0, row.p1).squared_m2), row.distance, 1e-15) << row.what;
  }
  const SegmentPair skew = NearestOnSegments({0, 0, 0}, {1, 1, 0}, {1, 0, 1}, {0, 1, 1});
  EXPECT_NEAR(skew.s, 0.5, 1e-15);
  EXPECT_NEAR(skew.t, 0.5, 1e-15);
}

// A point that moves past the origin, p = (2, 1, 0), v = (-1.6, 0, 0): nearest 1.0 at 1.25 s. Its path is a segment.
TEST(PublishedDistance, ClosestApproachOfAMovingPoint) {
  const Vector3d start(2, 1, 0), v(-1.6, 0, 0);
  const SegmentPair pair = NearestOnSegments(start, start + 2 * v, Vector3d::Zero(), Vector3d::Zero());
  EXPECT_NEAR(2 * pair.s, 1.25, 1e-15);
  EXPECT_NEAR(std::sqrt(pair.squared_m2), 1, 1e-15);
}

}  // namespace
}  // namespace dryrig
