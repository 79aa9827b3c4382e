#include "sim/glide.h"

#include <gtest/gtest.h>

#include <cmath>

#include "sim/joint_brake.h"
#include "sim/rng.h"

namespace dryrig {
namespace {

constexpr double kPeriod_s = 1.0 / 30;

/// Follows the law from `start` to rest at 0; sums squared changes of acceleration. `kick` is added to the change in one period
/// and `-2 kick`, `kick` to the two after it, which leaves the end's velocity and position wrong unless the law mends them.
double Follow(const Glide& glide, int periods, const PathState& start, PathState* end, double kick = 0, int at = -1) {
  PathState now = start;
  double sum = 0;
  for (int left = periods; left > 0; --left) {
    double change = glide.Change(left, now.q, now.v, now.a);
    if (periods - left == at) change += kick;
    sum += change * change;
    now = Onward(now, now.a + change, kPeriod_s);
  }
  *end = now;
  return sum;
}

TEST(Glide, ArrivesAtRestFromAnyStateInAnyTime) {
  const Glide glide(240, kPeriod_s);
  RandomStream random(1, "states");
  for (int periods = 3; periods <= glide.most(); ++periods) {
    const PathState start{random.Uniform(-1, 1), random.Uniform(-1, 1), random.Uniform(-1, 1)};
    PathState end;
    Follow(glide, periods, start, &end);
    EXPECT_NEAR(end.q, 0, 1e-9) << periods;  // three periods take accelerations near 1e4
    EXPECT_NEAR(end.v, 0, 1e-9) << periods;
    EXPECT_NEAR(end.a, 0, 1e-9) << periods;
  }
}

TEST(Glide, AnyDetourCostsMoreJerk) {
  const Glide glide(40, kPeriod_s);
  const PathState start{1, -0.5, 2};
  PathState end;
  const double least = Follow(glide, 40, start, &end);
  for (int at = 0; at < 37; ++at) {
    for (const double kick : {-0.05, 0.05}) {
      EXPECT_GT(Follow(glide, 40, start, &end, kick, at), least) << at;
      EXPECT_NEAR(end.q, 0, 1e-9);  // the law mends the detour
    }
  }
}

/// Flash & Hogan's minimum-jerk path s(u) = 10u³ - 15u⁴ + 6u⁵: the whole-period path differs by terms of second order in 1/n.
TEST(Glide, RestToRestIsTheMinimumJerkPath) {
  const int periods = 60;
  const Glide glide(periods, kPeriod_s);
  PathState now{-1, 0, 0};
  double fastest = 0;
  for (int left = periods; left > 0; --left) {
    const double u = 1 - double(left) / periods;
    EXPECT_NEAR(now.q, -1 + u * u * u * (10 - 15 * u + 6 * u * u), 1e-3);
    now = Onward(now, now.a + glide.Change(left, now.q, now.v, now.a), kPeriod_s);
    fastest = std::max(fastest, now.v);
  }
  EXPECT_NEAR(fastest * periods * kPeriod_s, 1.875, 2e-3);  // peak over mean velocity
}

}  // namespace
}  // namespace dryrig
