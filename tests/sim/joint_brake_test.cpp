#include "sim/joint_brake.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "sim/rng.h"

namespace dryrig {
namespace {

constexpr double kPeriod_s = 1.0 / 30;

/// Looks at a set point closely, 16 times a period. Empty: nothing passed. Rounding of sums over a take stays below 1e-9.
std::string Passed(const JointBounds& b, const PathState& now, double a_next) {
  const double tol = 1e-9, jerk = (a_next - now.a) / kPeriod_s;
  if (std::abs(jerk) > b.jerk * (1 + tol)) return "jerk";
  for (int i = 0; i <= 16; ++i) {
    const double t = kPeriod_s * i / 16;
    const double a = now.a + jerk * t, v = now.v + t * (now.a + t * jerk / 2),
                 q = now.q + t * (now.v + t * (now.a / 2 + t * jerk / 6));
    if (std::abs(a) > b.acceleration * (1 + tol)) return "acceleration";
    if (std::abs(v) > b.velocity * (1 + tol)) return "velocity";
    if (q > b.upper + tol || q < b.lower - tol) return "position";
  }
  return "";
}

JointBounds RandomBounds(RandomStream* random) {
  const double half = random->Uniform(0.05, 4), middle = random->Uniform(-1, 1);
  return {middle - half, middle + half, random->Uniform(0.2, 4), random->Uniform(0.5, 20), random->Uniform(5, 300)};
}

/// What a policy at its worst asks for: full throttle, held or switched at whim.
class Whim {
 public:
  explicit Whim(uint64_t seed) : random_(seed, "whim") {}
  double Next() {
    if (left_-- <= 0) {
      left_ = static_cast<int>(random_.Uniform(0, 40));
      wanted_ = random_.Uniform() < 0.7 ? (random_.Uniform() < 0.5 ? 1e6 : -1e6) : random_.Uniform(-20, 20);
    }
    return wanted_;
  }

 private:
  RandomStream random_;
  int left_ = 0;
  double wanted_ = 0;
};

TEST(JointRail, NothingAskedOfItPassesALimit) {
  RandomStream random(1, "bounds");
  for (int trial = 0; trial < 200; ++trial) {
    const JointBounds bounds = RandomBounds(&random);
    JointRail rail(bounds, random.Uniform(bounds.lower, bounds.upper), kPeriod_s);
    Whim whim(static_cast<uint64_t>(trial));
    for (int tick = 0; tick < 1000; ++tick) {
      if (tick % 97 != 0) rail.Choose(whim.Next());
      ASSERT_EQ(Passed(bounds, rail.now(), rail.a_next()), "") << "trial " << trial << " tick " << tick;
      rail.Advance();
    }
  }
}

/// The same joint without the look-ahead: acceleration and jerk are kept, the rest is hoped for.
TEST(JointRail, WithoutLookingAheadLimitsArePassed) {
  RandomStream random(1, "bounds");
  int caught = 0;
  for (int trial = 0; trial < 200; ++trial) {
    const JointBounds b = RandomBounds(&random);
    PathState now{random.Uniform(b.lower, b.upper), 0, 0};
    Whim whim(static_cast<uint64_t>(trial));
    bool passed = false;
    for (int tick = 0; tick < 1000 && !passed; ++tick) {
      const double step = b.jerk * kPeriod_s;
      double wanted = whim.Next();
      if (now.v > b.velocity) wanted = -1e6;  // brakes when it is too fast or has gone too far, as one would at first
      if (now.v < -b.velocity) wanted = 1e6;
      const double a_next = std::clamp(std::clamp(wanted, now.a - step, now.a + step), -b.acceleration, b.acceleration);
      passed = !Passed(b, now, a_next).empty();
      now = Onward(now, a_next, kPeriod_s);
    }
    caught += passed;
  }
  EXPECT_EQ(caught, 200);
}

TEST(JointRail, CarefulIsNotTimid) {
  const JointBounds bounds{-2, 2, 2.5, 10, 80};
  JointRail rail(bounds, -2, kPeriod_s);
  double fastest = 0, soonest_s = 0;
  for (int tick = 0; tick < 150; ++tick) {
    rail.Choose(1e6);
    rail.Advance();
    fastest = std::max(fastest, rail.now().v);
    if (rail.now().q < 1.99) soonest_s = (tick + 2) * kPeriod_s;
  }
  EXPECT_GT(fastest, 0.99 * bounds.velocity);
  EXPECT_GT(rail.now().q, 1.999);
  EXPECT_EQ(rail.now().v, 0);
  EXPECT_EQ(rail.now().a, 0);
  // Time-optimal is D/v + v/a + a/j = 4/2.5 + 0.25 + 0.125 = 1.975 s; the last centimetre and whole periods cost something.
  EXPECT_LT(soonest_s, 2.4);
}

TEST(JointRail, LeftAloneItBrakesToAStandstill) {
  const JointBounds bounds{-2, 2, 2.5, 10, 80};
  JointRail rail(bounds, 0, kPeriod_s);
  for (int tick = 0; tick < 15; ++tick) {
    rail.Choose(4);
    rail.Advance();
  }
  ASSERT_GT(rail.now().v, 1);
  for (int tick = 0; tick < 30; ++tick) {
    ASSERT_EQ(Passed(bounds, rail.now(), rail.a_next()), "");
    rail.Advance();
  }
  EXPECT_EQ(rail.now().v, 0);
  EXPECT_EQ(rail.now().a, 0);
  const double q = rail.now().q;
  rail.Advance();
  EXPECT_EQ(rail.now().q, q);
}

TEST(JointRail, AWishItCanGrantItGrantsToTheLastBit) {
  JointRail rail({-2, 2, 2.5, 10, 80}, 0, kPeriod_s);
  EXPECT_EQ(rail.Choose(1.25), 1.25);
  EXPECT_EQ(rail.a_next(), 1.25);
}

}  // namespace
}  // namespace dryrig
