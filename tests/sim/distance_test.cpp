#include "sim/distance.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "tests/sim/random_solids.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

Isometry3d At(double x, double y, double z) {
  Isometry3d X = Isometry3d::Identity();
  X.translation() = Vector3d(x, y, z);
  return X;
}

// Solids that all reach 0.1 m along +x and -x from their origin when unturned (a capsule or cylinder lies along x).
struct Reacher {
  Shape shape;
  Isometry3d turn = Isometry3d::Identity();
};
std::vector<Reacher> Reachers() {
  const Isometry3d along_x(Eigen::AngleAxisd(std::numbers::pi / 2, Vector3d::UnitY()));
  const Isometry3d corner_on(Eigen::Quaterniond::FromTwoVectors(Vector3d::Ones(), Vector3d::UnitX()));
  return {{Shape::Sphere(0.1)},
          {Shape::Capsule(0.04, 0.06), along_x},
          {Shape::Capsule(0.1, 0.2)},
          {Shape::Cylinder(0.1, 0.05)},
          {Shape::Cylinder(0.03, 0.1), along_x},
          {Shape::Box({0.1, 0.05, 0.2})},
          {Shape::Box(Vector3d::Constant(0.1 / std::sqrt(3.0))), corner_on},
          {Shape::Hull(testing::BoxCorners({0.1, 0.03, 0.02}))},
          {Shape::Hull(testing::BoxCorners(Vector3d::Constant(0.1 / std::sqrt(3.0)))), corner_on}};
}

TEST(Distance, PlantedGapsOfEveryPairReadTrue) {
  for (const Reacher& a : Reachers()) {
    for (const Reacher& b : Reachers()) {
      for (const double gap : {1.0, 0.1, 0.005, 1e-5, 0.0, -1e-5, -0.005}) {
        const Nearest now = Distance(a.shape, At(0, 0, 0) * a.turn, b.shape, At(0.2 + gap, 0, 0) * b.turn);
        // Corner against corner parts sideways sooner than along x: only the sign and a bound are known there.
        const bool sharp = !a.turn.isApprox(Isometry3d::Identity()) || !b.turn.isApprox(Isometry3d::Identity());
        if (gap < 0 && sharp) {
          EXPECT_LE(now.distance_m, 1e-9);
          EXPECT_GE(now.distance_m, gap - 1e-9);
        } else {
          EXPECT_NEAR(now.distance_m, gap, 1e-9) << int(a.shape.kind) << " " << int(b.shape.kind) << " gap " << gap;
        }
      }
    }
  }
}

TEST(Distance, PointsOfAPairAreItsDistanceApartAndOnBothSolids) {
  RandomStream random(1, "pairs");
  for (const ShapeKind kind_a : testing::kAllKinds) {
    for (const ShapeKind kind_b : testing::kAllKinds) {
      for (int i = 0; i < 200; ++i) {
        const Shape a = testing::RandomShape(&random, kind_a), b = testing::RandomShape(&random, kind_b);
        const Isometry3d X_WA = testing::RandomPose(&random, 0.4), X_WB = testing::RandomPose(&random, 0.4);
        const Nearest now = Distance(a, X_WA, b, X_WB);
        EXPECT_NEAR((now.p_WB - now.p_WA).norm(), std::abs(now.distance_m), 1e-9);
        // 2e-7: where the way between the points is short, its direction is the rounding of their places.
        if (kind_a != ShapeKind::kHull && now.distance_m > 0) {
          EXPECT_NEAR(testing::PointDistance(a, X_WA.inverse() * now.p_WA), 0, 2e-7);
        }
        if (kind_b != ShapeKind::kHull && now.distance_m > 0) {
          EXPECT_NEAR(testing::PointDistance(b, X_WB.inverse() * now.p_WB), 0, 2e-7);
        }
      }
    }
  }
}

TEST(Distance, DoesNotCareWhichSolidComesFirstNorWhereTheWorldIs) {
  RandomStream random(2, "pairs");
  for (const ShapeKind kind_a : testing::kAllKinds) {
    for (const ShapeKind kind_b : testing::kAllKinds) {
      for (int i = 0; i < 100; ++i) {
        const Shape a = testing::RandomShape(&random, kind_a), b = testing::RandomShape(&random, kind_b);
        const Isometry3d X_WA = testing::RandomPose(&random, 0.3), X_WB = testing::RandomPose(&random, 0.3);
        const Isometry3d moved = testing::RandomPose(&random, 2);
        const double d = Distance(a, X_WA, b, X_WB).distance_m;
        EXPECT_NEAR(Distance(b, X_WB, a, X_WA).distance_m, d, 1e-8);
        EXPECT_NEAR(Distance(a, moved * X_WA, b, moved * X_WB).distance_m, d, 1e-8);
      }
    }
  }
}

// Depth is the shortest way out: that way the solids come to touch, and no shorter way in 200 directions parts them.
TEST(Distance, DepthIsTheShortestWayOut) {
  RandomStream random(3, "overlaps");
  int overlaps = 0;
  for (const ShapeKind kind_a : testing::kAllKinds) {
    for (const ShapeKind kind_b : testing::kAllKinds) {
      for (int i = 0; i < 20; ++i) {
        const Shape a = testing::RandomShape(&random, kind_a), b = testing::RandomShape(&random, kind_b);
        const Isometry3d X_WA = testing::RandomPose(&random, 0.1), X_WB = testing::RandomPose(&random, 0.1);
        const Nearest now = Distance(a, X_WA, b, X_WB);
        if (now.distance_m > -1e-4) continue;
        ++overlaps;
        const auto parted_by = [&](const Vector3d& way) {
          Isometry3d X = X_WA;
          X.pretranslate(way);
          return Distance(a, X, b, X_WB).distance_m;
        };
        EXPECT_NEAR(parted_by(now.p_WB - now.p_WA), 0, 1e-7);
        const double shorter_m = -0.99 * now.distance_m;
        for (int k = 0; k < 200; ++k) {
          const Vector3d way = testing::RandomPoint(&random, 1).normalized();
          EXPECT_LT(parted_by(shorter_m * way), 0) << int(kind_a) << " " << int(kind_b);
        }
      }
    }
  }
  EXPECT_GT(overlaps, 250);
}

TEST(Distance, CrossingCapsulesPartAcrossBothAxes) {
  const Shape capsule = Shape::Capsule(0.1, 0.5);
  const Isometry3d along_x(Eigen::AngleAxisd(std::numbers::pi / 2, Vector3d::UnitY()));
  const Nearest now = Distance(capsule, Isometry3d::Identity(), capsule, along_x);
  EXPECT_NEAR(now.distance_m, -0.2, 1e-15);
  EXPECT_NEAR(std::abs((now.p_WB - now.p_WA).y()), 0.2, 1e-15);
  EXPECT_NEAR(Distance(capsule, At(0, 0, 0), capsule, At(0, 0, 0.3)).distance_m, -0.2, 1e-15);  // along one line
  EXPECT_NEAR(Distance(Shape::Sphere(0.1), At(0, 0, 0), Shape::Sphere(0.3), At(0, 0, 0)).distance_m, -0.4, 1e-15);  // one centre
}

TEST(Distance, ASphereInsideABoxLeavesByTheNearestFace) {
  const Nearest now = Distance(Shape::Sphere(0.05), At(0.1, 0, 0.05), Shape::Box({0.3, 0.4, 0.5}), At(0, 0, 0));
  EXPECT_NEAR(now.distance_m, -0.25, 1e-9);
  EXPECT_NEAR(now.p_WB.x(), 0.3, 1e-9);
}

TEST(Distance, AHullOfABoxsCornersIsTheBox) {
  RandomStream random(4, "boxes");
  for (int i = 0; i < 500; ++i) {
    const Shape box = testing::RandomShape(&random, ShapeKind::kBox),
                other = testing::RandomShape(&random, testing::kAllKinds[i % 4]);
    const Isometry3d X_WA = testing::RandomPose(&random, 0.3), X_WB = testing::RandomPose(&random, 0.3);
    EXPECT_NEAR(Distance(Shape::Hull(testing::BoxCorners(box.half_m)), X_WA, other, X_WB).distance_m,
                Distance(box, X_WA, other, X_WB).distance_m, 1e-8);
  }
}

TEST(Distance, FlatAndThinSolidsAreNoTrouble) {
  const Shape sheet = Shape::Box({0.1, 0.15, 0}), needle = Shape::Cylinder(1e-9, 0.1),
              flat = Shape::Hull({{0, 0, 0}, {1, 0, 0}, {0, 1, 0}});
  EXPECT_NEAR(Distance(sheet, At(0, 0, 0), Shape::Sphere(0.01), At(0, 0, 0.015)).distance_m, 0.005, 1e-12);
  EXPECT_NEAR(Distance(sheet, At(0, 0, 0), sheet, At(0, 0, 0.005)).distance_m, 0.005, 1e-12);
  EXPECT_NEAR(Distance(sheet, At(0, 0, 0), sheet, At(0, 0, 0)).distance_m, 0, 1e-9);
  EXPECT_NEAR(Distance(needle, At(0, 0, 0.105), sheet, At(0, 0, 0)).distance_m, 0.005, 1e-9);
  EXPECT_NEAR(Distance(flat, At(0, 0, 0), Shape::Capsule(0.01, 0.1), At(0.2, 0.2, 0.115)).distance_m, 0.005, 1e-12);
  EXPECT_NEAR(Distance(Shape::Hull({{0, 0, 0}}), At(0, 0, 0), Shape::Hull({{0, 0, 0}}), At(0, 0, 0)).distance_m, 0, 1e-12);
}

TEST(Distance, FarAndLargeSolidsKeepTheirPrecision) {
  EXPECT_NEAR(Distance(Shape::Box({5, 5, 0.05}), At(0, 0, -0.05), Shape::Cylinder(0.05, 0.2), At(4, 4, 0.205)).distance_m, 0.005,
              1e-9);
  EXPECT_NEAR(Distance(Shape::Cylinder(5, 0.05), At(0, 0, -0.05), Shape::Box({0.05, 0.05, 0.2}), At(3, 3, 0.205)).distance_m,
              0.005, 1e-9);
}

TEST(Segments, AreNoFartherThanAnyPairOfTheirPoints) {
  RandomStream random(5, "segments");
  for (int i = 0; i < 2000; ++i) {
    std::array<Vector3d, 4> p;
    for (Vector3d& point : p) point = testing::RandomPoint(&random, 1);
    if (i % 4 == 1) p[3] = p[2] + (p[1] - p[0]) * random.Uniform(-1, 1);  // parallel
    if (i % 4 == 2) p[3] = p[2] + (p[1] - p[0]) + testing::RandomPoint(&random, std::pow(10, -random.Uniform(3, 15)));  // nearly
    if (i % 4 == 3) p[1] = p[0];                                                                                        // a point
    const SegmentPair pair = NearestOnSegments(p[0], p[1], p[2], p[3]);
    const auto apart = [&](double s, double t) { return (p[0] + s * (p[1] - p[0]) - p[2] - t * (p[3] - p[2])).norm(); };
    EXPECT_NEAR(std::sqrt(pair.squared_m2), apart(pair.s, pair.t), 1e-12);
    for (int j = 0; j <= 40; ++j) {
      for (int k = 0; k <= 40; ++k) EXPECT_LE(std::sqrt(pair.squared_m2), apart(j / 40.0, k / 40.0) + 1e-8);
    }
  }
}

}  // namespace
}  // namespace dryrig
