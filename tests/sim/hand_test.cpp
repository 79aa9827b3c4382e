#include "sim/hand.h"

#include <gtest/gtest.h>

namespace dryrig {
namespace {

constexpr double kHand_m = 0.19;
constexpr int kTips[] = {4, 8, 12, 16, 20};

std::vector<FingerPose> Poses() {
  return {RestingFingers(), FlatFingers(), PointingFingers(), PinchingFingers(0.015, kHand_m), PinchingFingers(0.09, kHand_m)};
}

TEST(Hand, IsAsLongAsAskedWithStraightFingers) {
  const auto p = HandLandmarks(kRight, FingerPose::Zero(), kHand_m);
  EXPECT_EQ(p[0].norm(), 0);
  EXPECT_NEAR(p[12].y(), kHand_m, 0.002 * kHand_m);  // wrist to middle tip; knuckles are rounded to a thousandth
  for (const int tip : kTips) EXPECT_LE(p[tip].y(), p[12].y());
}

TEST(Hand, KeepsItsBonesInEveryPose) {
  const auto straight = HandLandmarks(kRight, FingerPose::Zero(), kHand_m);
  for (const FingerPose& pose : Poses()) {
    const auto bent = HandLandmarks(kRight, pose, kHand_m);
    for (int finger = 0; finger < 5; ++finger) {
      for (int bone = 0; bone < 4; ++bone) {
        const int to = 4 * finger + bone + 1, from = bone == 0 ? 0 : to - 1;
        EXPECT_NEAR((bent[to] - bent[from]).norm(), (straight[to] - straight[from]).norm(), 1e-12) << finger << ' ' << bone;
      }
    }
  }
}

TEST(Hand, LeftIsTheMirrorImageOfRight) {
  for (const FingerPose& pose : Poses()) {
    const auto left = HandLandmarks(kLeft, pose, kHand_m), right = HandLandmarks(kRight, pose, kHand_m);
    for (int i = 0; i < kHandLandmarks; ++i) {
      EXPECT_EQ(left[i], Eigen::Vector3d(-right[i].x(), right[i].y(), right[i].z()));
    }
  }
  EXPECT_LT(HandLandmarks(kRight, RestingFingers(), kHand_m)[4].x(), 0);  // palm down, the right thumb is on the left
}

TEST(Hand, PinchesToTheGapAskedFor) {
  for (const double gap : {0.015, 0.03, 0.05, 0.08}) {
    const auto p = HandLandmarks(kRight, PinchingFingers(gap, kHand_m), kHand_m);
    EXPECT_NEAR((p[4] - p[8]).norm(), gap, 1e-4) << gap;  // 20 halvings of a range of about 0.1 m
    EXPECT_LT(p[8].z(), -0.03);                           // tips below the palm, where things are
  }
}

TEST(Hand, GripPointLiesBetweenTheTips) {
  const FingerPose pinch = PinchingFingers(0.03, kHand_m);
  const auto p = HandLandmarks(kLeft, pinch, kHand_m);
  const Eigen::Vector3d g = GripPoint(kLeft, pinch, kHand_m);
  EXPECT_LT((g - p[4]).norm(), 0.025);
  EXPECT_LT((g - p[8]).norm(), 0.025);
}

TEST(Hand, PointsWithTheIndexAlone) {
  const auto p = HandLandmarks(kRight, PointingFingers(), kHand_m);
  EXPECT_NEAR((p[8] - p[5]).normalized().y(), 1, 1e-9);  // straight along the hand
  for (const int tip : {12, 16, 20}) EXPECT_LT(p[tip].y(), p[5].y() + 0.02) << tip;
  EXPECT_LT(p[4].y(), p[6].y() + 0.02);
}

TEST(Hand, BoneRadiiTaperAndGrowWithTheHand) {
  for (int finger = 0; finger < 5; ++finger) {
    for (int bone = 0; bone < 3; ++bone)
      EXPECT_GE(HandBoneRadius(finger, bone, kHand_m), HandBoneRadius(finger, bone + 1, kHand_m));
    EXPECT_DOUBLE_EQ(HandBoneRadius(finger, 3, 2 * kHand_m), 2 * HandBoneRadius(finger, 3, kHand_m));
  }
}

}  // namespace
}  // namespace dryrig
