#include <gtest/gtest.h>

#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

constexpr double kOmega = 2 * kPi * 2;  // 2 Hz

TakeBuilder Moving(std::function<Eigen::Vector3d(double)> offset, double physics_hz = 240) {
  TakeBuilder b;
  b.physics_hz = physics_hz;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  b.camera = [=](double t_s) { return Eigen::Translation3d(offset(t_s)) * X_WC; };
  return b;
}
double Gain(double hz) {
  return std::exp2(-0.5 * hz * hz / 100);
}  // of the low-pass, 1/√2 at 10 Hz

TEST(Jerk, OfASineIsAmplitudeTimesOmegaCubed) {
  for (const double rate_hz : {120.0, 240.0, 480.0, 960.0}) {
    const Take take = Moving([](double t_s) { return Eigen::Vector3d(0.03 * std::sin(kOmega * t_s), 0, 0); }, rate_hz).Build();
    const double amplitude = 0.03 * std::pow(kOmega, 3) * Gain(2);
    // RMS over 11.6 periods: the odd part of a period weighs 1/(4π · 11.6).
    EXPECT_NEAR(ValueOf(take, "jerk"), amplitude / std::sqrt(2), 0.01 * amplitude) << rate_hz;
    EXPECT_NEAR(ValueOf(take, "jerk_p99"), amplitude, 0.001 * amplitude) << rate_hz;
  }
}

// The same motion at four rates: what differs is the ends, half a filter's samples.
TEST(Jerk, DoesNotDependOnThePhysicsRate) {
  const auto path = [](double t_s) {
    return Eigen::Vector3d(0.03 * std::sin(kOmega * t_s), 0.02 * std::cos(7 * t_s), 0.01 * std::sin(40 * t_s));
  };
  const Take slow = Moving(path, 240).Build(), fast = Moving(path, 960).Build();
  for (const char* name : {"jerk", "jerk_moving", "jerk_p99", "spectral_arc_length", "log_dimensionless_jerk"}) {
    EXPECT_NEAR(ValueOf(slow, name), ValueOf(fast, name), 0.002 * std::abs(ValueOf(fast, name))) << name;
  }
}

TEST(Jerk, IsZeroForConstantAcceleration) {
  const Take take = Moving([](double t_s) { return Eigen::Vector3d(0.1 * t_s, 0.05 * t_s * t_s, 0); }).Build();
  EXPECT_NEAR(ValueOf(take, "jerk"), 0, 1e-6);  // rounding of metres over the filter's σ³ of 2e-6 s³
  EXPECT_NEAR(ValueOf(take, "jerk_moving"), 0, 1e-6);
}

TEST(Jerk, OfAStillCameraIsZeroAndItHasNoMoves) {
  const Take take = Moving([](double) { return Eigen::Vector3d(0, 0, 0); }).Build();
  EXPECT_DOUBLE_EQ(ValueOf(take, "jerk"), 0);
  EXPECT_DOUBLE_EQ(ValueOf(take, "angular_jerk"), 0);
  for (const char* name : {"jerk_moving", "log_dimensionless_jerk", "spectral_arc_length"})
    EXPECT_FALSE(ScoreOf(take, name).value) << name;
}

// A shaking half, a still half: over the take the squares halve, over the moving time they do not.
TEST(Jerk, OverMovingTimeLeavesOutRest) {
  const Take take = Moving([](double t_s) { return Eigen::Vector3d(t_s < 3 ? 0.03 * std::sin(kOmega * t_s) : 0, 0, 0); }).Build();
  EXPECT_NEAR(ValueOf(take, "jerk_moving") / ValueOf(take, "jerk"), std::sqrt(2), 0.1);
}

TEST(Jerk, AngularOfAWobbleIsAmplitudeTimesOmegaCubed) {
  TakeBuilder b = Moving([](double) { return Eigen::Vector3d(0, 0, 0); });
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  b.camera = [=](double t_s) { return X_WC * Eigen::AngleAxisd(0.02 * std::sin(kOmega * t_s), Eigen::Vector3d::UnitY()); };
  const double amplitude = 0.02 * std::pow(kOmega, 3) * Gain(2);
  EXPECT_NEAR(ValueOf(b.Build(), "angular_jerk"), amplitude / std::sqrt(2), 0.01 * amplitude);
  b.camera = [=](double t_s) { return X_WC * Eigen::AngleAxisd(0.5 * t_s, Eigen::Vector3d::UnitY()); };
  EXPECT_NEAR(ValueOf(b.Build(), "angular_jerk"), 0, 1e-6) << "a steady turn";
}

/// Minimum-jerk move of 0.4 m in `T` from t = 1 s.
Eigen::Vector3d MinimumJerk(double t_s, double duration_s) {
  const double u = std::clamp((t_s - 1) / duration_s, 0.0, 1.0);
  return {0.4 * u * u * u * (10 - 15 * u + 6 * u * u), 0, 0};
}

// A whole move has -5.322. This one counts from 5 mm/s on: speed 30u²(1-u)² · 0.2 m/s reaches it at u0 = 0.0298, and T³ ∫ j² dt
// shrinks to what lies between u0 and 1 - u0 of the polynomial 60(1 - 6u + 6u²).
TEST(Smoothness, OfOneMinimumJerkMoveIsTheClosedForm) {
  const double u0 = 0.5 - std::sqrt(0.25 - std::sqrt(0.005 / (30 * 0.2)));
  double squares = 0;
  const int n = 100000;
  for (int i = 0; i < n; ++i) {
    const double u = u0 + (1 - 2 * u0) * (i + 0.5) / n;
    squares += std::pow(60 * (1 - 6 * u + 6 * u * u), 2) * (1 - 2 * u0) / n;
  }
  const double want = -std::log(squares * std::pow(1 - 2 * u0, 3) / std::pow(1.875, 2));
  const Take take = Moving([](double t_s) { return MinimumJerk(t_s, 2); }).Build();
  // The low-pass widens the move by its 13 ms at either end and takes the edge off the ends' jerk.
  EXPECT_NEAR(ValueOf(take, "log_dimensionless_jerk"), want, 0.05);
  EXPECT_NEAR(ValueOf(take, "spectral_arc_length"), -1.40, 0.03);
}

TEST(Smoothness, IsWorseForTwoMovesInOne) {
  const Take one = Moving([](double t_s) { return MinimumJerk(t_s, 2); }).Build();
  const Take shaky =
      Moving([](double t_s) -> Eigen::Vector3d {
        return MinimumJerk(t_s, 2) + Eigen::Vector3d(0, 0.003 * std::sin(2 * kPi * 5 * t_s) * MinimumJerk(t_s, 2).x(), 0);
      }).Build();
  for (const char* name : {"log_dimensionless_jerk", "spectral_arc_length"})
    EXPECT_GT(ValueOf(one, name), ValueOf(shaky, name) + 0.001) << name;
}

// Two pushes of 1 s with a rest between: one move while the rest is shorter than 0.3 s, two when it is longer.
TEST(Smoothness, AHesitationDoesNotEndAMove) {
  for (const double rest_s : {0.1, 0.25, 0.4}) {
    const Take take =
        Moving([=](double t_s) -> Eigen::Vector3d { return MinimumJerk(t_s, 1) + MinimumJerk(t_s - 1 - rest_s, 1); }).Build();
    // Speed falls below 5 mm/s already 20 ms before a push ends (u = 0.02), and the low-pass takes about as much away.
    EXPECT_EQ(FindMoves(MeasurePath(take)).size(), rest_s < 0.3 ? 1u : 2u) << rest_s;
  }
  const Take twitch = Moving([](double t_s) -> Eigen::Vector3d { return 0.02 * MinimumJerk(t_s, 0.25); }).Build();
  EXPECT_TRUE(FindMoves(MeasurePath(twitch)).empty()) << "shorter than 0.3 s";
}

// A wobble of the axis by `amplitude` at `hz` moves the image by that angle times the frame heights a radian.
Take Wobbling(double amplitude, double hz) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  b.camera = [=](double t_s) {
    return X_WC * Eigen::AngleAxisd(amplitude * std::sin(2 * kPi * hz * t_s), Eigen::Vector3d::UnitY());
  };
  return b.Build();
}

TEST(ImageShake, OfAFastWobbleIsItsAngle) {
  const double heights_per_rad = FrameHeights({}, {0.018, 1}, 1, 1);
  EXPECT_NEAR(ValueOf(Wobbling(1e-3, 8), "image_shake"), 1e-3 * heights_per_rad / std::sqrt(2),
              2e-5);  // 8 Hz: 0.4 % of it counts as slow
  // At the cut-off of the complementary low-pass 1 - 1/√2 is left.
  EXPECT_NEAR(ValueOf(Wobbling(1e-3, 2), "image_shake"), 1e-3 * heights_per_rad / std::sqrt(2) * (1 - std::sqrt(0.5)), 2e-5);
}

TEST(ImageShake, ComesFromSidewaysMotionByItsDepth) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  const double depth_m = (X_WC.translation() - b.Subject(HandsShot()).centre_W).norm();
  b.camera = [=](double t_s) { return X_WC * Eigen::Translation3d(1e-3 * std::sin(2 * kPi * 8 * t_s), 0, 0); };
  EXPECT_NEAR(ValueOf(b.Build(), "image_shake"), FrameHeights({}, {0.018, 1}, 1e-3, depth_m) / std::sqrt(2), 2e-5);
}

TEST(ImageShake, IsNoneForBusyHandsBeforeAStillCamera) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  b.pose = [](double t_s, BodyPose* pose) {
    for (int i = kHandL; i < kNumBodyPoints; ++i)
      pose->p_W[static_cast<size_t>(i)] += Eigen::Vector3d(0.03, 0.02, 0.01) * std::sin(2 * kPi * 4 * t_s);
  };
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "image_shake"), 0);
}

TEST(ImageShake, LetsASlowPanPass) {
  TakeBuilder b;
  b.Ask(0, 6, HandsShot());
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  b.camera = [=](double t_s) { return X_WC * Eigen::AngleAxisd(0.1 * (t_s - 3), Eigen::Vector3d::UnitY()); };
  EXPECT_NEAR(ValueOf(b.Build(), "image_shake"), 0, 1e-9);
}

}  // namespace
}  // namespace dryrig::testing
