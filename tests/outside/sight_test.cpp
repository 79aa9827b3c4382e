// Sight lines against pictures of the same scene. The pictures are made by walking along each pixel's ray by the distance to
// the nearest surface (Hart 1996, sphere tracing) with signed-distance formulas of their own: nothing of sim's rays is used.
#include "sim/sight.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "sim/rng.h"
#include "tests/outside/listed.h"
#include "tests/sim/random_solids.h"
#include "tests/sim/sketch_take.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

struct Ball {
  Vector3d middle;
  double radius;
};

// A body as a distance field.
struct Field {
  std::vector<Vector3d> ends;  // a capsule's; empty: `shape` at X_SW
  double radius = 0;
  const Shape* shape = nullptr;
  Isometry3d X_SW = Isometry3d::Identity();
  Ball around;

  double At(const Vector3d& p_W) const {
    if (ends.empty()) return testing::PointDistance(*shape, X_SW * p_W);
    const Vector3d axis = ends[1] - ends[0];
    const double t = std::clamp((p_W - ends[0]).dot(axis) / axis.squaredNorm(), 0.0, 1.0);
    return (p_W - ends[0] - t * axis).norm() - radius;
  }
};

// In the order of SightScene.
std::vector<Field> FieldsOf(const Take& take) {
  std::vector<Field> fields;
  const TakeFrame& frame = take.frames[0];
  for (const PersonCapsule& capsule : take.person.capsules) {
    Field field;
    field.ends = {frame.person.p_W[capsule.a], frame.person.p_W[capsule.b]};
    field.radius = capsule.radius_m;
    field.around = {0.5 * (field.ends[0] + field.ends[1]), 0.5 * (field.ends[1] - field.ends[0]).norm() + capsule.radius_m};
    fields.push_back(field);
  }
  const auto add = [&](const Shape& shape, const Isometry3d& X_WS) {
    Field field;
    field.shape = &shape;
    field.X_SW = X_WS.inverse();
    field.around = {X_WS.translation(), shape.BoundingRadius()};
    fields.push_back(field);
  };
  for (size_t i = 0; i < take.props.size(); ++i) add(take.props[i].shape, frame.X_WP[i]);
  add(take.bench_top.shape, take.bench_top.X_LS);
  return fields;
}

constexpr double kFar_m = 5;

struct Hit {
  int body = -1;
  double depth_m = kFar_m;
};

// Only bodies whose ball the ray passes are walked to.
Hit Walk(const std::vector<Field>& fields, const Vector3d& from, const Vector3d& way, int only = -1) {
  std::array<int, 128> near;
  int count = 0;
  for (int i = only < 0 ? 0 : only; i < (only < 0 ? static_cast<int>(fields.size()) : only + 1); ++i) {
    const Vector3d to = fields[i].around.middle - from;
    if ((to - to.dot(way) * way).norm() <= fields[i].around.radius) near[count++] = i;
  }
  double depth = 0;
  for (int step = 0; step < 400 && depth < kFar_m && count > 0; ++step) {
    double least = kFar_m;
    int body = -1;
    for (int k = 0; k < count; ++k) {
      const int i = near[k];
      const double d = fields[i].At(from + depth * way);
      if (d < least) least = d, body = i;
    }
    if (least < 1e-7) return {body, depth};
    depth += least;
  }
  return {};
}

// A square picture from `from` that the ball fills.
struct View {
  View(const Vector3d& camera, const Ball& ball, int pixels) : from(camera), side(pixels) {
    z = (ball.middle - from).normalized();
    x = z.unitOrthogonal();
    y = z.cross(x);
    half = std::tan(std::asin(ball.radius / (ball.middle - from).norm()));
  }
  Vector3d Way(double u, double v) const {
    return (x * half * (2 * u / side - 1) + y * half * (2 * v / side - 1) + z).normalized();
  }

  Vector3d from, x, y, z;
  double half = 0;
  int side = 0;
};

struct Share {
  int body;
  double by_pixels, by_sight;
};

// Share of each body that is visible: in pixels of a picture that it fills, and in sight lines to points of its surface that
// lie on a raster of another pitch.
std::vector<Share> SharesOf(const Take& take, const Vector3d& from, int pixels, const Vector3d& sight_from) {
  const std::vector<Field> fields = FieldsOf(take);
  SightScene scene(take);
  scene.SetFrame(take.frames[0]);
  std::vector<Share> shares;
  for (int i = 0; i < static_cast<int>(fields.size()); ++i) {
    if ((fields[i].around.middle - from).norm() < 1.5 * fields[i].around.radius) continue;  // too wide for a picture
    const View view(from, fields[i].around, pixels);
    int whole = 0, seen = 0;
    for (int v = 0; v < pixels; ++v) {
      for (int u = 0; u < pixels; ++u) {
        const Vector3d way = view.Way(u + 0.5, v + 0.5);
        if (Walk(fields, from, way, i).body < 0) continue;
        ++whole;
        seen += Walk(fields, from, way).body == i;
      }
    }
    int points = 0, clear = 0;
    const double pitch = 1.17;
    for (double v = 0.5 * pitch; v < pixels; v += pitch) {
      for (double u = 0.5 * pitch; u < pixels; u += pitch) {
        const Vector3d way = view.Way(u, v);
        const Hit hit = Walk(fields, from, way, i);
        if (hit.body < 0) continue;
        ++points;
        clear += scene.FirstBlocker(sight_from, {from + hit.depth_m * way, i, false, -1}) < 0;
      }
    }
    shares.push_back({i, double(seen) / whole, double(clear) / points});
  }
  return shares;
}

// Hands among things: the box before the left fingers, the can on the right hand's way, the ball held over the thumbs.
Take BusyBench() {
  Take take = testing::SketchTake();
  take.frames[0].X_WP[0] = Isometry3d(Eigen::Translation3d(-0.1, 0.36, 0.80) * Eigen::AngleAxisd(0.5, Vector3d::UnitZ()));
  take.frames[0].X_WP[1] =
      Isometry3d(Eigen::Translation3d(0.08, 0.32, 0.82) * Eigen::AngleAxisd(1.0, Vector3d(1, 0.3, 0).normalized()));
  take.frames[0].X_WP[2] = testing::At(0.02, 0.2, 0.9);
  return take;
}

TEST(SightByPixels, VisibleSharesAgreeToOnePercent) {
  const Take take = BusyBench();
  int partly = 0;
  for (const Vector3d& from : {Vector3d(0.05, 0.75, 1.1), Vector3d(0.3, 0.3, 1.15)}) {
    for (const Share& share : SharesOf(take, from, 120, from)) {
      EXPECT_NEAR(share.by_sight, share.by_pixels, 0.01) << "body " << share.body;
      partly += share.by_pixels > 0.1 && share.by_pixels < 0.9;
    }
  }
  EXPECT_GT(partly, 30);  // the scene asks something
}

// The comparison would notice sight lines that start 2 cm from the camera.
TEST(SightByPixels, AShiftedSightIsNoticed) {
  const Take take = BusyBench();
  const Vector3d from(0.05, 0.75, 1.1);
  double worst = 0;
  for (const Share& share : SharesOf(take, from, 40, from + Vector3d(0.02, 0, 0))) {
    worst = std::max(worst, std::abs(share.by_sight - share.by_pixels));
  }
  EXPECT_GT(worst, 0.03);
}

// A landmark is visible where the first surface on its line belongs to a capsule that ends in it.
TEST(SightByPixels, LandmarksAreSeenWhereTheirOwnBodyIsMetFirst) {
  const Take take = BusyBench();
  const std::vector<Field> fields = FieldsOf(take);
  SightScene scene(take);
  scene.SetFrame(take.frames[0]);
  RandomStream random(1, "views");
  int clear = 0, blocked = 0;
  for (int i = 0; i < 60; ++i) {
    const Vector3d from(random.Uniform(-0.6, 0.6), random.Uniform(-0.1, 1), random.Uniform(0.75, 1.4));
    if (std::any_of(fields.begin(), fields.end(), [&](const Field& f) { return f.At(from) < 0.01; })) continue;
    for (int point = kHandL; point < kNumBodyPoints; ++point) {
      const Vector3d p_W = take.frames[0].person.p_W[point];
      const Hit first = Walk(fields, from, (p_W - from).normalized());
      ASSERT_GE(first.body, 0);
      double own_depth = kFar_m;
      std::vector<int> own;
      for (int k = 0; k < static_cast<int>(take.person.capsules.size()); ++k) {
        const PersonCapsule& capsule = take.person.capsules[k];
        const bool forearm = (point == kHandL && capsule.b == kWristL) || (point == kHandR && capsule.b == kWristR);
        if (capsule.a != point && capsule.b != point && !forearm) continue;
        own.push_back(k);
        own_depth = std::min(own_depth, Walk(fields, from, (p_W - from).normalized(), k).depth_m);
      }
      if (std::abs(first.depth_m - own_depth) < 1e-5 && std::count(own.begin(), own.end(), first.body) == 0) continue;  // a tie
      const int blocker = scene.FirstBlocker(from, {p_W, own.front(), true, point});
      if (std::count(own.begin(), own.end(), first.body)) {
        ++clear;
        EXPECT_EQ(blocker, -1) << "point " << point << " view " << i;
      } else {
        ++blocked;
        EXPECT_EQ(blocker, first.body) << "point " << point << " view " << i;
      }
    }
  }
  EXPECT_GT(clear, 400);
  EXPECT_GT(blocked, 400);
}

}  // namespace
}  // namespace dryrig
