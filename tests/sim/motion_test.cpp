#include "sim/motion.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

namespace dryrig {
namespace {

using Track1 = MinJerkTrack<1>;
Track1::Value V(double x) {
  return Track1::Value(x);
}

/// Greatest jump of the second difference between neighbouring samples: shrinks with the step where f is C2 and stays where
/// only its first derivative is continuous.
double WorstJump(const std::function<double(double)>& f, double from, double to, double dt) {
  double worst = 0;
  const auto acceleration = [&](double t) { return (f(t + dt) - 2 * f(t) + f(t - dt)) / (dt * dt); };
  for (double t = from; t < to; t += dt) worst = std::max(worst, std::abs(acceleration(t + dt) - acceleration(t)));
  return worst;
}

TEST(MinJerk, GoesFromRestToRestThroughTheMiddle) {
  EXPECT_EQ(MinJerk(-1), 0);
  EXPECT_EQ(MinJerk(0), 0);
  EXPECT_EQ(MinJerk(1), 1);
  EXPECT_EQ(MinJerk(3), 1);
  EXPECT_DOUBLE_EQ(MinJerk(0.5), 0.5);
  EXPECT_EQ(MinJerkBump(0), 0);
  EXPECT_EQ(MinJerkBump(1), 0);
  EXPECT_DOUBLE_EQ(MinJerkBump(0.5), 1);
}

TEST(SoftLimit, IsTheIdentityInsideAndNeverPassesTheLimit) {
  EXPECT_EQ(SoftLimit(0.4, 0.5, 0.6), 0.4);
  EXPECT_EQ(SoftLimit(-0.4, 0.5, 0.6), -0.4);
  for (const double x : {0.51, 0.7, 5.0, 1e9}) {
    EXPECT_GT(SoftLimit(x, 0.5, 0.6), 0.5);
    EXPECT_LE(SoftLimit(x, 0.5, 0.6), 0.6);
    EXPECT_EQ(SoftLimit(-x, 0.5, 0.6), -SoftLimit(x, 0.5, 0.6));
  }
}

TEST(SoftLimit, HasNoKinkWhereAHardClampHasOne) {
  const auto soft = [](double x) { return SoftLimit(x, 0.5, 0.6); };
  const auto hard = [](double x) { return std::min(x, 0.5); };
  // Third derivative of tanh is -2 at its middle, over the width of 0.1 squared: 200 times the step.
  EXPECT_LT(WorstJump(soft, 0.3, 0.8, 1e-4), 210 * 1e-4);
  EXPECT_GT(WorstJump(hard, 0.3, 0.8, 1e-4), 1000);
}

TEST(MinJerkTrack, PassesItsPointsAndHoldsBetween) {
  Track1 track(V(1));
  track.MoveTo(1, 2, V(3));
  track.MoveTo(2.5, 3, V(0), V(0.2));
  for (const double t : {-5.0, 0.0, 1.0}) EXPECT_EQ(track.At(t)[0], 1);
  EXPECT_DOUBLE_EQ(track.At(1.5)[0], 2);
  for (const double t : {2.0, 2.2, 2.5}) EXPECT_EQ(track.At(t)[0], 3);
  EXPECT_DOUBLE_EQ(track.At(2.75)[0], 1.5 + 0.2);  // half-way, beside the straight course
  for (const double t : {3.0, 99.0}) EXPECT_EQ(track.At(t)[0], 0);
}

TEST(MinJerkTrack, IsC2AlsoWhereOneMoveFollowsAnotherAtOnce) {
  Track1 track;
  track.MoveTo(0.2, 0.9, V(0.3), V(0.05));
  track.MoveTo(0.9, 1.5, V(-0.1));
  const auto good = [&](double t) { return track.At(t)[0]; };
  // The twin is cubic, continuous in velocity alone: its acceleration jumps by 6 D/T² at the ends.
  const auto cubic = [](double tau) { return tau <= 0 ? 0 : tau >= 1 ? 1 : tau * tau * (3 - 2 * tau); };
  const auto twin = [&](double t) { return 0.3 * cubic((t - 0.2) / 0.7) - 0.4 * cubic((t - 0.9) / 0.6); };
  const double coarse = WorstJump(good, 0, 2, 1e-3), fine = WorstJump(good, 0, 2, 1e-4);
  EXPECT_NEAR(fine / coarse, 0.1, 0.02);  // a bounded jerk: ten times finer steps, ten times smaller jumps
  EXPECT_GT(WorstJump(twin, 0, 2, 1e-4) / WorstJump(twin, 0, 2, 1e-3), 0.9);
}

TEST(ReachTime, IsThatOfAnUnhurriedReachOverATable) {
  for (const double width : {0.02, 0.04, 0.08}) {
    EXPECT_GE(ReachTime_s(0.3, width), 0.6);
    EXPECT_LE(ReachTime_s(0.3, width), 0.9);
  }
  EXPECT_GT(ReachTime_s(0.5, 0.04), ReachTime_s(0.3, 0.04));  // farther
  EXPECT_GT(ReachTime_s(0.3, 0.02), ReachTime_s(0.3, 0.04));  // smaller
  EXPECT_DOUBLE_EQ(FittsIndex_bits(0.15, 0.05), 2);
}

TEST(Wander, HasTheSizeAskedForAndStaysInItsBand) {
  RandomStream random(3, "wander test");
  const Wander wander(random, 0.002, 8, 12);
  double sum = 0, squares = 0;
  int crossings = 0;
  const double dt = 1e-3;
  const int n = 100000;
  for (int i = 0; i < n; ++i) {
    const double x = wander.At(i * dt);
    sum += x, squares += x * x;
    crossings += x < 0 && wander.At((i + 1) * dt) >= 0;
  }
  EXPECT_NEAR(std::sqrt(squares / n), 0.002, 2e-5);  // over 100 s the beat of two sines has averaged out to 1 %
  EXPECT_NEAR(sum / n, 0, 2e-6);
  EXPECT_GE(crossings / (n * dt), 8);
  EXPECT_LE(crossings / (n * dt), 12);
}

TEST(Wander, DiffersFromOneDrawToTheNext) {
  RandomStream random(3, "wander test");
  const Wander a(random, 1, 1, 2), b(random, 1, 1, 2);
  EXPECT_NE(a.At(0.5), b.At(0.5));
  EXPECT_EQ(Wander().At(7), 0);
}

}  // namespace
}  // namespace dryrig
