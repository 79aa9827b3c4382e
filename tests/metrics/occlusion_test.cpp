#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

double Sum(const Take& take) {
  return ValueOf(take, "occlusion") + ValueOf(take, "outside") + ValueOf(take, "clear");
}

TakeBuilder Plate(double beside_m) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot(ShotSize::kCloseUp, ShotAngle::kOverhead));
  b.Place("plate", Shape::Box({0.3, 0.16, 0.002}));
  const Eigen::Vector3d p_WHands = b.Subject(b.intents[0].shot).centre_W;
  b.prop = [=](size_t, double) { return Eigen::Isometry3d(Eigen::Translation3d(p_WHands + Eigen::Vector3d(beside_m, 0, 0.2))); };
  return b;
}

TEST(Occlusion, ClearBlockedAndOutsideAddToOne) {
  for (const double beside_m : {0.0, 0.3, 0.4, 5.0}) {
    for (const double yaw : {0.0, 0.4, 1.0, kPi}) {
      TakeBuilder b = Plate(beside_m);
      const Eigen::Isometry3d X_WC = b.ViewOf(b.intents[0].shot) * Eigen::AngleAxisd(yaw, Eigen::Vector3d::UnitY());
      b.camera = [=](double) { return X_WC; };
      EXPECT_NEAR(Sum(b.Build()), 1, 1e-12) << beside_m << " " << yaw;
    }
  }
}

TEST(Occlusion, NamesTheBlocker) {
  const Take covered = Plate(0).Build();
  EXPECT_DOUBLE_EQ(ValueOf(covered, "occlusion"), 1);
  EXPECT_DOUBLE_EQ(ValueOf(covered, "occluded_by_prop"), 1);
  EXPECT_EQ(ScoreOf(covered, "occlusion").worst_what, "blocked by plate");
  EXPECT_DOUBLE_EQ(ValueOf(Plate(5).Build(), "clear"), 1);
}

TEST(Occlusion, LookingAwayIsOutsideNotClear) {
  TakeBuilder b = Plate(0);
  const Eigen::Isometry3d X_WC = b.ViewOf(b.intents[0].shot) * Eigen::AngleAxisd(kPi, Eigen::Vector3d::UnitY());
  b.camera = [=](double) { return X_WC; };
  const Take take = b.Build();
  EXPECT_DOUBLE_EQ(ValueOf(take, "outside"), 1);
  EXPECT_DOUBLE_EQ(ValueOf(take, "occlusion"), 0);
  EXPECT_DOUBLE_EQ(ValueOf(take, "clear"), 0);
}

// From behind the instructor the trunk and head stand between camera and hands.
TEST(Occlusion, FromBehindIsByTheBody) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Vector3d p_WHands = b.Subject(HandsShot()).centre_W;
  b.camera = [=](double) { return LookAt(p_WHands + Eigen::Vector3d(0, -1.6, 0.4), p_WHands, Eigen::Vector3d::UnitZ()); };
  const Take take = b.Build();
  EXPECT_GT(ValueOf(take, "occlusion"), 0.8);
  EXPECT_GT(ValueOf(take, "occluded_by_torso"), 0.5);
  double parts = 0;
  for (const Metric& metric : Metrics()) {
    if (metric.name.starts_with("occluded_by_")) parts += ValueOf(take, metric.name);
  }
  EXPECT_NEAR(parts, ValueOf(take, "occlusion"), 1e-12);
}

// A block alone on the bench: its back is no occlusion; a hood over it is.
TEST(Occlusion, APropsFarSideIsNotHidden) {
  TakeBuilder b;
  b.Place("block", Shape::Box({0.05, 0.05, 0.05}));
  b.prop = [](size_t index, double) { return Eigen::Isometry3d(Eigen::Translation3d(0, 0.35, index == 0 ? 0.85 : 1.1)); };
  Shot shot;
  shot.subjects = {Subject{SubjectKind::kProp, "block"}};
  shot.angle = ShotAngle::kOverhead;
  b.Ask(0, 6, shot);
  b.camera = [](double) { return LookAt({0, 0.35, 2}, {0, 0.35, 0.85}, -Eigen::Vector3d::UnitY()); };
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "occlusion"), 0);
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "clear"), 1);
  b.Place("hood", Shape::Box({0.2, 0.2, 0.01}));
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "occlusion"), 1);
}

TEST(Occlusion, ByTheRobotsOwnArm) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot(ShotSize::kCloseUp, ShotAngle::kOverhead));
  Take take = b.Build();
  take.arm_bodies.push_back({0, {"boom", Shape::Box({0.5, 0.5, 0.01}), Eigen::Isometry3d(Eigen::Translation3d(0, 0, 0.3))}});
  EXPECT_DOUBLE_EQ(ValueOf(take, "occluded_by_robot"), 1);
}

// A prop with 14 points and hands with 42: each frame counts alike, however many points its subjects have.
TEST(Occlusion, EveryFrameCountsAlike) {
  TakeBuilder b = Plate(0);
  b.duration_s = 9;
  b.intents.clear();
  b.Ask(0, 4.5, HandsShot(ShotSize::kCloseUp, ShotAngle::kOverhead));
  b.Ask(4.5, 9, FaceShot());
  const Eigen::Isometry3d hands = b.ViewOf(b.intents[0].shot), face = b.ViewOf(FaceShot());
  b.camera = [=](double t_s) { return t_s < 4.49 ? hands : face; };
  const Take take = b.Build();
  EXPECT_NEAR(ValueOf(take, "occluded_by_prop"), 0.5, 1e-12);
}

}  // namespace
}  // namespace dryrig::testing
