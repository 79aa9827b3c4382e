#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

TEST(JointLimitMargin, IsInHalvesOfTheRangeAndNegativeWhenPassed) {
  TakeBuilder b;
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "joint_limit_margin"), 1);
  b.q = [](double t_s) { return Eigen::Vector2d(0.1 * t_s, -0.1 * t_s); };  // ends at 0.6 of 2 and of 1 rad
  const Score score = ScoreOf(b.Build(), "joint_limit_margin");
  EXPECT_NEAR(score.value.value(), 0.4, 1e-12);
  EXPECT_EQ(score.worst_what, "wrist");
  EXPECT_NEAR(score.worst_t_s.value(), 6, 1e-9);
  b.q = [](double t_s) { return Eigen::Vector2d(t_s > 3 && t_s < 3.01 ? 2.002 : 0, 0); };
  EXPECT_NEAR(ValueOf(b.Build(), "joint_limit_margin"), -0.001, 1e-9) << "a planted violation of two ticks";
}

TEST(JointSpeedMargin, IsTheShareLeft) {
  TakeBuilder b;
  b.qd = [](double t_s) { return Eigen::Vector2d(t_s > 2 ? -1.2 : 0, 1.0); };
  const Score score = ScoreOf(b.Build(), "joint_speed_margin");
  EXPECT_NEAR(score.value.value(), 0.2, 1e-12);
  EXPECT_EQ(score.worst_what, "shoulder");
  b.qd = [](double t_s) { return Eigen::Vector2d(0, t_s > 5.99 ? 2.1 : 0); };
  EXPECT_LT(ValueOf(b.Build(), "joint_speed_margin"), 0) << "a planted violation";
}

TEST(ServoError, IsTheRootMeanSquareInDegreesOfTurningJoints) {
  TakeBuilder b;
  b.lag = [](double) { return Eigen::Vector2d(3 * kDegree, -4 * kDegree); };
  EXPECT_NEAR(ValueOf(b.Build(), "servo_error_deg"), std::sqrt(12.5), 1e-9);
  EXPECT_EQ(ScoreOf(b.Build(), "servo_error_deg").worst_what, "wrist");
  Take take = b.Build();
  take.joints[1].prismatic = true;
  EXPECT_NEAR(ValueOf(take, "servo_error_deg"), 3, 1e-9);
}

TEST(TorqueSaturation, IsTheShareOfTicksAtTheLimit) {
  TakeBuilder b;
  b.torque = [](double t_s) { return Eigen::Vector2d(39.9, t_s < 3 - 1e-9 ? -10 : 0); };
  const Score score = ScoreOf(b.Build(), "torque_saturation");
  EXPECT_NEAR(score.value.value(), 720.0 / 1441, 1e-12);
  EXPECT_EQ(score.worst_what, "wrist");
}

TEST(Singularity, IsTheLeastManipulability) {
  TakeBuilder b;
  b.manipulability = [](double t_s) { return 0.01 + std::abs(t_s - 2); };
  const Score score = ScoreOf(b.Build(), "singularity");
  EXPECT_NEAR(score.value.value(), 0.01, 1e-9);
  EXPECT_NEAR(score.worst_t_s.value(), 2, 1e-9);
}

TEST(Unreachable, IsTheShareOfFrames) {
  TakeBuilder b;
  b.unreachable = [](double t_s) { return t_s < 2 - 1e-9; };
  EXPECT_NEAR(ValueOf(b.Build(), "unreachable"), 60.0 / 181, 1e-12);
}

TakeBuilder Turning(const Eigen::Vector3d& axis, double rad_per_s) {
  TakeBuilder b;
  b.Ask(0, 6, FaceShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(FaceShot());
  b.camera = [=](double t_s) { return X_WC * Eigen::AngleAxisd(rad_per_s * t_s, axis); };
  return b;
}

TEST(Roll, IsTheAngleOfTheHorizon) {
  TakeBuilder b = Turning(Eigen::Vector3d::UnitZ(), 0);
  EXPECT_NEAR(ValueOf(b.Build(), "roll_deg"), 0, 1e-6);
  for (const double roll : {10 * kDegree, -10 * kDegree, 170 * kDegree}) {
    const Eigen::Isometry3d X_WC = b.ViewOf(FaceShot()) * Eigen::AngleAxisd(roll, Eigen::Vector3d::UnitZ());
    b.camera = [=](double) { return X_WC; };
    EXPECT_NEAR(ValueOf(b.Build(), "roll_deg"), std::abs(roll) / kDegree, 1e-6);
  }
}

TEST(Roll, IsNullWithoutAHorizonInThePicture) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot(ShotSize::kCloseUp, ShotAngle::kOverhead));
  EXPECT_FALSE(ScoreOf(b.Build(), "roll_deg").value);
}

TEST(PanSpeed, IsOfTheAxisAndNotOfRoll) {
  EXPECT_NEAR(ValueOf(Turning(Eigen::Vector3d::UnitY(), 5 * kDegree).Build(), "pan_speed"), 5, 1e-6);
  EXPECT_NEAR(ValueOf(Turning(Eigen::Vector3d::UnitZ(), 5 * kDegree).Build(), "pan_speed"), 0, 1e-6);
}

TEST(PanSpeed, LeavesOutTheAnswerToACue) {
  TakeBuilder b = Turning(Eigen::Vector3d::UnitY(), 0);
  const Eigen::Isometry3d X_WC = b.ViewOf(FaceShot());
  b.camera = [=](double t_s) { return X_WC * Eigen::AngleAxisd(std::min(t_s, 1.4) * 1.0, Eigen::Vector3d::UnitY()); };
  EXPECT_NEAR(ValueOf(b.Build(), "pan_speed"), 0, 1e-9);
  b.intents.clear();
  EXPECT_GT(ValueOf(b.Build(), "pan_speed"), 50) << "without an intent all time counts";
}

TEST(ZoomRate, IsTheFastestChangeInOctaves) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "zoom_rate"), 0);
  b.lens = [](double t_s) { return LensState{0.018 * std::exp2(0.25 * t_s), 1}; };
  EXPECT_NEAR(ValueOf(b.Build(), "zoom_rate"), 0.25, 1e-9);
  b.lens = [](double t_s) { return LensState{t_s < 3 ? 0.018 : 0.036, 1}; };
  const Score instant = ScoreOf(b.Build(), "zoom_rate");
  EXPECT_NEAR(instant.value.value(), 30, 1e-9) << "an octave within one frame";
  EXPECT_NEAR(instant.worst_t_s.value(), 3, 1e-9);
}

}  // namespace
}  // namespace dryrig::testing
