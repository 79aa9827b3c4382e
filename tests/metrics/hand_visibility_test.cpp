#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

using ::testing::HasSubstr;

TakeBuilder HandsFromAbove() {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot(ShotSize::kCloseUp, ShotAngle::kOverhead));
  return b;
}

// A plate 0.3 m over the left hand: from overhead it hides that hand whole and the other not at all.
TakeBuilder LeftHandCovered(std::function<bool(double)> covered) {
  TakeBuilder b = HandsFromAbove();
  const Eigen::Vector3d p_WHand = b.person.pose.p_W[HandPoint(kLeft, 9)];
  b.Place("plate", Shape::Box({0.1, 0.16, 0.002}));
  b.prop = [=](size_t, double t_s) {
    return Eigen::Isometry3d(
        Eigen::Translation3d(covered(t_s) ? p_WHand + Eigen::Vector3d(0, 0, 0.3) : Eigen::Vector3d(2, 2, 0)));
  };
  return b;
}

TEST(HandVisibility, IsOneFromAboveFlatHands) {
  const Take take = HandsFromAbove().Build();
  EXPECT_DOUBLE_EQ(ValueOf(take, "hand_visibility"), 1);
  EXPECT_DOUBLE_EQ(ValueOf(take, "longest_blind_s"), 0);
  EXPECT_DOUBLE_EQ(ValueOf(take, "hand_detail"), 1);
}

TEST(HandVisibility, IsHalfWithOneOfTwoHandsCovered) {
  const Score score = ScoreOf(LeftHandCovered([](double) { return true; }).Build(), "hand_visibility");
  EXPECT_DOUBLE_EQ(score.value.value(), 0.5);
  EXPECT_THAT(score.worst_what, HasSubstr("blocked by plate"));
}

TEST(HandVisibility, CountsOnlyHandsInUse) {
  TakeBuilder b = LeftHandCovered([](double) { return true; });
  b.pose = [](double, BodyPose* pose) { pose->hand_in_use = {false, true}; };
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "hand_visibility"), 1);
  b.pose = [](double, BodyPose* pose) { pose->hand_in_use = {true, false}; };
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "hand_visibility"), 0);
}

TEST(HandVisibility, IsNothingForACameraThatLooksAway) {
  TakeBuilder b = HandsFromAbove();
  const Eigen::Isometry3d X_WC = b.ViewOf(b.intents[0].shot) * Eigen::AngleAxisd(kPi, Eigen::Vector3d::UnitX());
  b.camera = [=](double) { return X_WC; };
  const Score score = ScoreOf(b.Build(), "hand_visibility");
  EXPECT_DOUBLE_EQ(score.value.value(), 0);
  EXPECT_THAT(score.worst_what, HasSubstr("outside the frame"));
  EXPECT_NEAR(ValueOf(b.Build(), "longest_blind_s"), 4.5, 1e-9);  // 1.5 s of six are left out; the last frame is at the end
}

// Covered for 2 s, of which one landmark share is exactly a half: not below it. Both hands covered: below.
TEST(HandVisibility, LongestBlindIsTheLongestRunBelowAHalf) {
  TakeBuilder b = LeftHandCovered([](double t_s) { return t_s > 2.99 && t_s < 4.99; });
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "longest_blind_s"), 0);
  b.pose = [](double, BodyPose* pose) { pose->hand_in_use = {true, false}; };
  const Score score = ScoreOf(b.Build(), "longest_blind_s");
  EXPECT_NEAR(score.value.value(), 2.0, 1e-9);
  EXPECT_NEAR(score.worst_t_s.value(), 3 + 59 / 30.0, 1e-9);  // the last frame of the run has been blind for longest
}

TEST(HandVisibility, LeavesOutTheFirstSecondAndAHalf) {
  TakeBuilder b = LeftHandCovered([](double t_s) { return t_s < 1.49; });
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "hand_visibility"), 1);
  const Score score = ScoreOf(b.Build(), "hand_visibility");
  EXPECT_TRUE(std::isnan(score.series.values[44]));
  EXPECT_DOUBLE_EQ(score.series.values[45], 1);  // 1.5 s
}

TEST(HandVisibility, IsNullWithoutHandsInTheIntent) {
  TakeBuilder b;
  b.Ask(0, 6, FaceShot());
  for (const char* name : {"hand_visibility", "longest_blind_s", "hand_detail"}) {
    EXPECT_FALSE(ScoreOf(b.Build(), name).value) << name;
  }
}

// A wide shot sees every landmark and teaches nothing: 0.15 of 0.5 frame heights.
TEST(HandDetail, RefusesAWideShot) {
  TakeBuilder b = HandsFromAbove();
  const Eigen::Isometry3d wide = b.ViewOf(HandsShot(ShotSize::kWide, ShotAngle::kOverhead));
  b.camera = [=](double) { return wide; };
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "hand_visibility"), 1);
  const Score score = ScoreOf(b.Build(), "hand_detail");
  EXPECT_DOUBLE_EQ(score.value.value(), 0);
  EXPECT_THAT(score.worst_what, HasSubstr("0.30 of the size"));
}

TEST(HandDetail, AcceptsHalfTheSizeAndNotLess) {
  TakeBuilder b = HandsFromAbove();
  const Shot shot = b.intents[0].shot;
  for (const double nearer : {0.51, 0.49}) {
    const Eigen::Isometry3d X_WC = b.ViewOf(shot, nearer);
    b.camera = [=](double) { return X_WC; };
    b.lens = nullptr;
    EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "hand_detail"), nearer > 0.5 ? 1 : 0) << nearer;
  }
}

TEST(HandDetail, RefusesBlur) {
  TakeBuilder b = HandsFromAbove();
  b.lens = [&](double) { return LensState{b.camera_body.focal_min_m, 0.3}; };
  const Score score = ScoreOf(b.Build(), "hand_detail");
  EXPECT_DOUBLE_EQ(score.value.value(), 0);
  EXPECT_THAT(score.worst_what, HasSubstr("out of focus"));
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "in_focus"), 0);
}

}  // namespace
}  // namespace dryrig::testing
