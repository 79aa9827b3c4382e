#include "sim/governor.h"

#include <gmock/gmock.h>

#include <cmath>

#include "sim/path_clock.h"
#include "sim/run.h"
#include "sim/safety_sensor.h"
#include "tests/metrics/shipped_takes.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using test::kDeg;

constexpr double kDt_s = 1.0 / 240, kControlHz = 30;

Move ToPosture(const Eigen::VectorXd& q) {
  Move move;
  move.motion = JointTarget{q};
  return move;
}

/// A tracker's path to one posture, passed by a clock whose target rate is a function of time.
struct Passed {
  std::vector<JointSetPoint> points;
  std::vector<double> rates;
};
Passed Pass(const Stage& stage, double for_s, const std::function<double(double)>& target) {
  Tracker tracker(stage, stage.arm.home, kControlHz);
  Eigen::VectorXd goal = stage.arm.home;
  goal[0] += 60 * kDeg, goal[1] -= 30 * kDeg;
  PathClock clock(kControlHz, 8);
  Passed out;
  for (double t = 0; t < for_s; t += kDt_s) {
    if (clock.AtEnd()) {
      if (!clock.empty()) tracker.Advance();
      tracker.Follow(ToPosture(goal));
      clock.Lay(tracker);
    }
    clock.SetPoint(&out.points.emplace_back());
    out.rates.push_back(clock.rate());
    clock.Tick(kDt_s, target(t), 4, 0.5, 80);
  }
  return out;
}

TEST(PathClock, AtFullRateIsTheTrackersOwnPath) {
  const Stage stage = test::MakeLevelStage(test::SixAxes());
  const Passed passed = Pass(stage, 2, [](double) { return 1.0; });
  Tracker tracker(stage, stage.arm.home, kControlHz);
  Eigen::VectorXd goal = stage.arm.home;
  goal[0] += 60 * kDeg, goal[1] -= 30 * kDeg;
  for (size_t i = 0; i < passed.points.size(); ++i) {
    if (i % 8 == 0) {
      if (i > 0) tracker.Advance();
      tracker.Follow(ToPosture(goal));
    }
    JointSetPoint own;
    tracker.At(static_cast<double>(i % 8) * kDt_s, &own);
    EXPECT_TRUE(own.q.isApprox(passed.points[i].q, 1e-12)) << i;  // sums of ticks against products
    EXPECT_TRUE(own.qdd.isApprox(passed.points[i].qdd, 1e-9)) << i;
  }
}

TEST(PathClock, SlowedItGoesThroughTheSamePosturesAndItsPartsAreEachOthersDerivatives) {
  const Stage stage = test::MakeLevelStage(test::SixAxes());
  const Passed whole = Pass(stage, 4, [](double) { return 1.0; });
  const Passed slowed = Pass(stage, 12, [](double t) { return t < 0.5 ? 1.0 : t < 2 ? 0.3 : t < 3 ? 0.0 : 0.6; });
  for (size_t i = 0; i < slowed.points.size(); ++i) {
    const JointSetPoint& at = slowed.points[i];
    // Joints 0 and 1 move in proportion on this path: where one is, the other is as it was at full rate.
    double nearest = 1e9;
    for (const JointSetPoint& other : whole.points) nearest = std::min(nearest, (other.q - at.q).norm());
    EXPECT_LT(nearest, 0.5 * 2.6 * kDt_s) << i;  // half a tick at the joints' greatest speed
    if (i == 0) continue;
    const JointSetPoint& before = slowed.points[i - 1];
    EXPECT_LT((at.q - before.q - 0.5 * kDt_s * (at.qd + before.qd)).norm(), 2e-4) << i;
    EXPECT_LT((at.qd - before.qd - 0.5 * kDt_s * (at.qdd + before.qdd)).norm(), 8e-3)
        << i;  // the rate's own ease is a step in its slope's slope
  }
  EXPECT_EQ(slowed.rates[static_cast<size_t>(2.9 / kDt_s)], 0);
  EXPECT_NEAR((slowed.points.back().q - whole.points.back().q).norm(), 0, 1e-6);
}

TEST(PathClock, FromFullRateItStandsWithinTheTimeStated) {
  const Stage stage = test::MakeLevelStage(test::SixAxes());
  const Passed passed = Pass(stage, 2, [](double t) { return t < 0.8 ? 1.0 : 0.0; });
  size_t stands = 0;
  while (passed.rates[stands] > 0) ++stands;
  const double took_s = static_cast<double>(stands) * kDt_s - 0.8;
  EXPECT_LE(took_s, 0.35 + kDt_s);
  EXPECT_GE(took_s, 0.25);  // no faster than the greatest loss of rate
}

TEST(PathClock, RunsBackOverItsWay) {
  const Stage stage = test::MakeLevelStage(test::SixAxes());
  const Passed there = Pass(stage, 6, [](double t) { return t < 1 ? 1.0 : -0.4; });
  EXPECT_GT((there.points[240].q - stage.arm.home).norm(), 0.2);
  EXPECT_LT((there.points.back().q - stage.arm.home).norm(), 1e-3);
  EXPECT_EQ(there.rates.back(), 0) << "no way is left";
}

TEST(SafetySensor, IsNeverFartherOffThanItsErrorAndAsLateAsStated) {
  SafetySensorSpec spec;
  spec.rate_hz = 60, spec.latency_s = 0.05, spec.error_m = 0.025;
  SafetySensor sensor(spec, 3);
  BodyPose pose;
  double most = 0;
  for (int tick = 0; tick < 480; ++tick) {
    const double t = tick * kDt_s;
    pose.p_W.fill(Vector3d(t, 0, 1));
    sensor.Look(t, pose);
    const SafetySensor::Sample* sample = sensor.Newest(t);
    if (t < 0.05) {
      EXPECT_EQ(sample, nullptr);
      continue;
    }
    ASSERT_NE(sample, nullptr);
    EXPECT_GE(t - sample->taken_s, 0.05 - 1e-9);
    EXPECT_LE(t - sample->taken_s, 0.05 + 1.0 / 60 + 1e-9);
    for (const Vector3d& p : sample->pose.p_W) most = std::max(most, (p - Vector3d(sample->taken_s, 0, 1)).norm());
  }
  EXPECT_LE(most, 0.025);
  EXPECT_GT(most, 0.024) << "and it uses its error";
}

TEST(SafetySensor, DeadItShowsItsLastSample) {
  SafetySensorSpec spec;
  spec.dead_from_s = 0.5, spec.dead_until_s = 0.7;
  SafetySensor sensor(spec, 3);
  for (int tick = 0; tick < 240; ++tick) {
    const double t = tick * kDt_s;
    sensor.Look(t, {});
    if (t > 0.6 && t < 0.7) {
      EXPECT_LT(sensor.Newest(t)->taken_s, 0.5);
    } else if (t > 0.8) {
      EXPECT_GT(sensor.Newest(t)->taken_s, 0.69);
    }
  }
}

TEST(Lunge, IsNeverFasterThanStatedAndEndsWhereItSays) {
  for (const double travel : {0.02, 0.3, 1.0}) {
    Lunge lunge;
    lunge.speed_mps = 1.6, lunge.travel_m = travel;
    constexpr double h = 1e-4;
    for (double t = 0; t < 2; t += h) {
      const double speed = (LungeTravel_m(lunge, t + h) - LungeTravel_m(lunge, t)) / h;
      EXPECT_GE(speed, -1e-9);
      EXPECT_LE(speed, 1.6 + 1e-9) << travel << " at " << t;
    }
    EXPECT_EQ(LungeTravel_m(lunge, 0), 0);
    EXPECT_NEAR(LungeTravel_m(lunge, 2), travel, 1e-12);
  }
}

TakeSetup GovernedBooklet() {
  TakeSetup setup = testing::ShippedSetup("booklet");
  setup.max_s = 8;
  setup.governor.emplace();
  return setup;
}

double Spent(const Take& take, GovernorState state) {
  double sum = 0;
  for (const GovernedSpell& spell : take.governed) {
    if (spell.state == state) sum += spell.end_s - spell.start_s;
  }
  return sum;
}

// With people who hardly move and a sensor that sees at once, nothing is too near: the path is the policy's own, but that the
// clock sums up its ticks.
TEST(Governor, WithNothingToFearTheArmGoesAsWithoutIt) {
  TakeSetup setup = GovernedBooklet();
  GovernorSpec& spec = *setup.governor;
  spec.head_mps = spec.trunk_mps = spec.limb_mps = 0.01;
  spec.sensor = {240, 0, 0};
  spec.contact_mps = 1;
  const Take governed = testing::RunShipped(setup, "follow");
  setup.governor.reset();
  const Take free = testing::RunShipped(setup, "follow");
  ASSERT_EQ(governed.ticks.size(), free.ticks.size());
  EXPECT_EQ(Spent(governed, GovernorState::kSlow), 0);
  for (size_t i = 0; i < free.ticks.size(); i += 17) EXPECT_LT((governed.ticks[i].q - free.ticks[i].q).norm(), 1e-6) << i;
  EXPECT_TRUE(free.governed.empty());
}

TEST(Governor, SpellsFollowOneAnotherWithoutAGap) {
  const Take take = testing::RunShipped(GovernedBooklet(), "planner");
  ASSERT_FALSE(take.governed.empty());
  EXPECT_EQ(take.governed.front().start_s, 0);
  for (size_t i = 1; i < take.governed.size(); ++i) {
    EXPECT_NEAR(take.governed[i].start_s, take.governed[i - 1].end_s, 1e-9);
    EXPECT_NE(take.governed[i].state, take.governed[i - 1].state);
  }
}

TEST(Governor, WithADeadSensorTheArmStandsAndStaysStanding) {
  TakeSetup setup = GovernedBooklet();
  setup.governor->sensor.dead_from_s = 3;
  const Take take = testing::RunShipped(setup, "reference");
  double most = 0;
  for (size_t i = 4 * 240; i < take.ticks.size(); ++i) most = std::max(most, take.ticks[i].qd.norm());
  EXPECT_LT(most, 0.01);
  EXPECT_NE(take.governed.back().state, GovernorState::kWatch);
}

TEST(Governor, DoesNotHoldTheArmAllTheTime) {
  TakeSetup setup = GovernedBooklet();
  setup.max_s = 30;
  const Take take = testing::RunShipped(setup, "planner");
  EXPECT_GT(Spent(take, GovernorState::kWatch), 1);
}

}  // namespace
}  // namespace dryrig
