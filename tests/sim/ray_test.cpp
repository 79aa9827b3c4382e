#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "sim/distance.h"
#include "tests/sim/random_solids.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

constexpr double kMiss = std::numeric_limits<double>::infinity();

std::vector<Shape> ReachingTenCentimetres() {
  return {Shape::Sphere(0.1), Shape::Capsule(0.1, 0.2), Shape::Cylinder(0.1, 0.2), Shape::Box({0.1, 0.2, 0.2}),
          Shape::Hull(testing::BoxCorners({0.1, 0.2, 0.2}))};
}

TEST(Ray, EntersWhereTheSolidBegins) {
  for (const Shape& shape : ReachingTenCentimetres()) {
    EXPECT_NEAR(RayEntry(shape, Isometry3d::Identity(), {-1, 0, 0}, {1, 0, 0}), 0.45, 1e-12) << int(shape.kind);
    EXPECT_NEAR(RayEntry(shape, Isometry3d::Identity(), {-1, 0, 0}, {0, 0, 0}), 0.9, 1e-12) << int(shape.kind);
  }
}

TEST(Ray, StartsInsideAtZeroAndMissesWhatItDoesNotReach) {
  for (const Shape& shape : ReachingTenCentimetres()) {
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {0.05, 0, 0}, {1, 0, 0}), 0) << int(shape.kind);
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {-1, 0, 0}, {-0.11, 0, 0}), kMiss) << int(shape.kind);    // ends before
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {0.11, 0, 0}, {1, 0, 0}), kMiss) << int(shape.kind);      // leads away
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {-1, 0.31, 0}, {1, 0.31, 0}), kMiss) << int(shape.kind);  // passes by
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {-1, 0, 0.31}, {1, 0, 0.31}), kMiss) << int(shape.kind);
  }
}

TEST(Ray, EntersByTheEnds) {
  EXPECT_NEAR(RayEntry(Shape::Capsule(0.1, 0.2), Isometry3d::Identity(), {0, 0, 1}, {0, 0, 0}), 0.7, 1e-12);
  EXPECT_NEAR(RayEntry(Shape::Cylinder(0.1, 0.2), Isometry3d::Identity(), {0.05, 0, 1}, {0.05, 0, 0}), 0.8, 1e-12);
  // Past a cylinder's rim but through the capsule's round end.
  EXPECT_EQ(RayEntry(Shape::Cylinder(0.1, 0.2), Isometry3d::Identity(), {-1, 0, 0.25}, {1, 0, 0.25}), kMiss);
  EXPECT_NEAR(RayEntry(Shape::Capsule(0.1, 0.2), Isometry3d::Identity(), {-1, 0, 0.25}, {1, 0, 0.25}),
              0.5 * (1 - std::sqrt(0.01 - 0.0025)), 1e-12);
}

TEST(Ray, AnEmptyRayIsInsideOrMisses) {
  for (const Shape& shape : ReachingTenCentimetres()) {
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {0, 0, 0}, {0, 0, 0}), 0) << int(shape.kind);
    EXPECT_EQ(RayEntry(shape, Isometry3d::Identity(), {1, 0, 0}, {1, 0, 0}), kMiss) << int(shape.kind);
  }
}

// The entry is on the surface, all before it is outside, and a miss is outside all along. Distance() knows nothing of rays.
TEST(Ray, AgreesWithTheDistanceOfItsPoints) {
  RandomStream random(1, "rays");
  const Shape point = Shape::Sphere(0);
  for (const ShapeKind kind : testing::kAllKinds) {
    int hits = 0;
    for (int i = 0; i < 400; ++i) {
      const Shape shape = testing::RandomShape(&random, kind);
      const Isometry3d X_WS = testing::RandomPose(&random, 0.3);
      const Vector3d from = testing::RandomPoint(&random, 1), to = X_WS * testing::RandomPoint(&random, 0.2);
      const auto outside_m = [&](double t) {
        Isometry3d X = Isometry3d::Identity();
        X.translation() = from + t * (to - from);
        return Distance(point, X, shape, X_WS).distance_m;
      };
      const double entry = RayEntry(shape, X_WS, from, to);
      const double last = std::min(entry, 1.0);
      if (entry < kMiss) {
        ++hits;
        if (entry > 0) {
          EXPECT_NEAR(outside_m(entry), 0, 1e-7);
        }
      }
      for (int k = 0; k < 50; ++k) EXPECT_GT(outside_m(last * k / 50.0), entry > 0 ? -1e-9 : -kMiss) << int(kind);
    }
    EXPECT_GT(hits, 40);
    EXPECT_LT(hits, 360);
  }
}

TEST(Ray, AHullOfABoxsCornersIsTheBox) {
  RandomStream random(2, "rays");
  int hits = 0;
  for (int i = 0; i < 2000; ++i) {
    const Shape box = testing::RandomShape(&random, ShapeKind::kBox), hull = Shape::Hull(testing::BoxCorners(box.half_m));
    const Isometry3d X_WS = testing::RandomPose(&random, 0.3);
    const Vector3d from = testing::RandomPoint(&random, 1), to = X_WS * testing::RandomPoint(&random, 0.3);
    const double entry = RayEntry(box, X_WS, from, to);
    if (entry < kMiss) {
      ++hits;
      EXPECT_NEAR(RayEntry(hull, X_WS, from, to), entry, 1e-6);
    } else {
      EXPECT_EQ(RayEntry(hull, X_WS, from, to), kMiss);
    }
  }
  EXPECT_GT(hits, 300);
}

TEST(Ray, ACapsuleByItsEndsIsTheShape) {
  RandomStream random(3, "rays");
  for (int i = 0; i < 2000; ++i) {
    const Shape capsule = testing::RandomShape(&random, ShapeKind::kCapsule);
    const Isometry3d X_WS = testing::RandomPose(&random, 0.3);
    const Vector3d from = testing::RandomPoint(&random, 1), to = testing::RandomPoint(&random, 0.5);
    const double by_ends = RayEntryCapsule(X_WS * Vector3d(0, 0, -capsule.half_length_m),
                                           X_WS * Vector3d(0, 0, capsule.half_length_m), capsule.radius_m, from, to);
    const double entry = RayEntry(capsule, X_WS, from, to);
    if (entry == kMiss) {
      EXPECT_EQ(by_ends, kMiss);
    } else {
      EXPECT_NEAR(by_ends, entry, 1e-9);
    }
  }
}

}  // namespace
}  // namespace dryrig
