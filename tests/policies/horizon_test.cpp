#include <gtest/gtest.h>

#include "metrics/metric.h"
#include "tests/metrics/shipped_takes.h"
#include "tests/policies/timed_policy.h"

namespace dryrig::testing {
namespace {

double ValueOf(const Scorecard& card, std::string_view metric) {
  return card.scores[static_cast<size_t>(&FindMetric(metric) - Metrics().data())].value.value();
}

// Not the policies' ranking, which a suite measures: that looking ahead does here what it is for.
TEST(Horizon, FilmsTheFirstMinuteOfABookletSmootherThanPlannerAndNoWorse) {
  TakeSetup setup = ShippedSetup("booklet", "heron", "prime");
  setup.max_s = 60;
  const Scorecard planner = ScoreTake(RunShipped(setup, "planner")), horizon = ScoreTake(RunShipped(setup, "horizon"));
  EXPECT_LT(ValueOf(horizon, "jerk"), 0.75 * ValueOf(planner, "jerk"));
  EXPECT_LT(ValueOf(horizon, "framing_error"), 1.03 * ValueOf(planner, "framing_error"));
  EXPECT_GT(ValueOf(horizon, "hand_visibility"), ValueOf(planner, "hand_visibility") - 0.02);
  EXPECT_GT(ValueOf(horizon, "hand_detail"), ValueOf(planner, "hand_detail") - 0.02);
}

TEST(Horizon, ThePriceOfJerkIsWhatMakesItSmooth) {
  TakeSetup setup = ShippedSetup("booklet", "heron", "prime");
  setup.max_s = 30;
  double jerk_before = 1e9;
  for (const double price : {0.001, 0.03, 1.0}) {
    const auto policy = FindPolicy("horizon").make({{"jerk_price", price}});
    const double jerk = ValueOf(ScoreTake(RunTake(setup, *policy)), "jerk");
    EXPECT_LT(jerk, jerk_before) << price;
    jerk_before = jerk;
  }
}

TEST(Horizon, TheSamePolicyBackToOneDecidesTheSameBits) {
  TakeSetup setup = ShippedSetup("seedling");
  setup.max_s = 15;
  const auto policy = FindPolicy("horizon").make({});
  const Take first = RunTake(setup, *policy), again = RunTake(setup, *policy);
  ASSERT_EQ(first.ticks.size(), again.ticks.size());
  EXPECT_EQ(first.ticks.back().q, again.ticks.back().q);
  EXPECT_NE(first.ticks.back().q, first.ticks.front().q) << "an arm that never moved proves nothing";
}

// Processor time of one thread; what else runs lengthens it through the caches all the same.
TEST(HorizonSpeedLong, ADecisionTakesSevenTenthsOfAMillisecondInTheMeanAndTenAtThe99thPercentile) {
  TimedPolicy policy(FindPolicy("horizon").make({}));
  RunTake(ShippedSetup("loaf"), policy);
  ASSERT_GT(policy.took_ms().size(), 5000U);
  EXPECT_LT(policy.Mean_ms(), 0.7);
  EXPECT_LT(policy.Quantile_ms(0.99), 10);
}

}  // namespace
}  // namespace dryrig::testing
