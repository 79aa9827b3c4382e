// Tests and intervals against published tables and worked examples, and by simulation where the truth is known.
#include "bench/statistics.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "sim/rng.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

using ::testing::DoubleNear;
using ::testing::ElementsAre;
using ::testing::Pointwise;

/// n differences 1, 2, ... n whose negative ones add to exactly `w_minus`.
std::vector<double> WithNegativeRanks(int n, int w_minus) {
  std::vector<double> out;
  for (int rank = n; rank >= 1; --rank) {
    const bool negative = rank <= w_minus;
    if (negative) w_minus -= rank;
    out.push_back(negative ? -rank : rank);
  }
  return out;
}

// Largest sums that are significant at 5 %, two-sided (table of the University of York, Department of Mathematics): p is at most
// 0.05 there and above it one further on.
TEST(StatisticsOutside, SignedRankTurnsSignificantWhereTheTableSays) {
  const std::vector<std::pair<int, int>> table{{6, 0},   {7, 2},   {8, 3},   {9, 5},   {10, 8},  {11, 10}, {12, 13}, {13, 17},
                                               {14, 21}, {15, 25}, {16, 29}, {17, 34}, {18, 40}, {19, 46}, {20, 52}};
  for (const auto& [n, critical] : table) {
    EXPECT_EQ(WilcoxonSignedRank(WithNegativeRanks(n, critical)).w_minus, critical);
    EXPECT_LE(WilcoxonSignedRank(WithNegativeRanks(n, critical)).p, 0.05) << n;
    EXPECT_GT(WilcoxonSignedRank(WithNegativeRanks(n, critical + 1)).p, 0.05) << n;
  }
  // Five differences can never be significant at 5 %.
  EXPECT_NEAR(WilcoxonSignedRank(WithNegativeRanks(5, 0)).p, 2.0 / 32, 1e-15);
}

// By hand: W- = 3 of 8; five subsets of 1..8 add to 3 or less (none, 1, 2, 3, 1+2), so p = 2 * 5 / 256.
TEST(StatisticsOutside, SignedRankOfEightIsCountedByHand) {
  const SignedRank test = WilcoxonSignedRank(std::vector<double>{.5, 1.2, -.3, 2.1, 1.7, .9, -.2, 1.4});
  EXPECT_EQ(test.n, 8);
  EXPECT_EQ(test.w_minus, 3);
  EXPECT_EQ(test.w_plus, 33);
  EXPECT_NEAR(test.p, 0.0390625, 1e-15);
}

TEST(StatisticsOutside, SignedRankDropsZerosAndSharesRanksOfEqualSizes) {
  const SignedRank test = WilcoxonSignedRank(std::vector<double>{0, 1, -1, 2, 0});
  EXPECT_EQ(test.n, 3);
  EXPECT_EQ(test.w_plus, 4.5);  // (1 + 2) / 2 + 3
  EXPECT_EQ(test.w_minus, 1.5);
  // Of the eight signings of 1.5, 1.5, 3 three add to 1.5 or less on the negative side: none, and either of the two.
  EXPECT_NEAR(test.p, 2 * 3.0 / 8, 1e-15);
  EXPECT_EQ(WilcoxonSignedRank(std::vector<double>{0, 0}).p, 1);
}

// A worked example of Holm's procedure (thresholds .0125, .0167, .025, .05: .005 and .01 are rejected, .03 is not).
TEST(StatisticsOutside, HolmStepsDown) {
  EXPECT_THAT(HolmAdjusted(std::vector<double>{.01, .04, .03, .005}), Pointwise(DoubleNear(1e-12), {.03, .06, .06, .02}));
  EXPECT_THAT(HolmAdjusted(std::vector<double>{.01, .04, .20, .03, .005, .07}),
              Pointwise(DoubleNear(1e-12), {.05, .12, .20, .12, .03, .14}));
  EXPECT_THAT(HolmAdjusted(std::vector<double>{.6, .7}), ElementsAre(1, 1));
}

// Two published examples; the second tells whole values left out (69.5) from fractional weights (69.8).
TEST(StatisticsOutside, InterquartileMeanLeavesAQuarterOutAtEachEnd) {
  EXPECT_NEAR(InterquartileMean({5, 8, 4, 38, 8, 6, 9, 7, 7, 3, 1, 6}), 6.5, 1e-12);
  EXPECT_NEAR(InterquartileMean({42, 54, 60, 66, 67, 73, 75, 76, 92, 95}), 69.5, 1e-12);
  EXPECT_EQ(InterquartileMean({3}), 3);
}

TEST(StatisticsOutside, ProbabilityCountsPairsAndHalvesTies) {
  EXPECT_EQ(ProbabilityGreater(std::vector<double>{1, 2}, std::vector<double>{0, 2}), (1 + 0 + 1 + 0.5) / 4);
}

// All 3125 resamples of five differences enumerated: the mean's plain percentile interval is [.022, .130], its deviation .02757.
// Ours is wider by t(4) / z(.975) and the root of 5/4 and so reaches to the extremes, yet never beyond the data.
TEST(StatisticsOutside, FiveDifferencesGiveAnIntervalAtLeastAsWideAsThePlainOne) {
  const NestedValues values{{{{.12}}, {{.05}}, {{-.02}}, {{.09}}, {{.16}}}};
  EXPECT_NEAR(NestedMean(values), 0.08, 1e-15);
  const Interval interval = HierarchicalInterval(values, 20'000, 1);
  EXPECT_LE(interval.lo, .022);
  EXPECT_GE(interval.hi, .130);
  EXPECT_GE(interval.lo, -.02);
  EXPECT_LE(interval.hi, .16);
}

NestedValues Clustered(int lessons, int people, int seeds, double mean, uint64_t set) {
  RandomStream random(set, "clustered differences");
  NestedValues out;
  for (int i = 0; i < lessons; ++i) {
    const double lesson = mean + random.Normal();
    out.lessons.emplace_back();
    for (int j = 0; j < people; ++j) {
      out.lessons.back().emplace_back();
      for (int k = 0; k < seeds; ++k) out.lessons.back().back().push_back(lesson + 0.5 * random.Normal());
    }
  }
  return out;
}

// The truth is planted: lessons differ with a deviation of 1, takes of one lesson by 0.5. What share of intervals holds it?
TEST(StatisticsOutsideLong, IntervalsOfClusteredDifferencesHoldTheTruth) {
  for (const auto& [lessons, least] : {std::pair{8, 0.93}, {30, 0.93}}) {
    int held = 0;
    constexpr int kSets = 2000;
    for (int set = 0; set < kSets; ++set) {
      const NestedValues values = Clustered(lessons, 3, 2, 0.3, static_cast<uint64_t>(set));
      held += HierarchicalInterval(values, 1000, 7).Holds(0.3);
    }
    const double coverage = static_cast<double>(held) / kSets;
    fmt::print("{} lessons: {:.1f} % of {} intervals hold the truth\n", lessons, 100 * coverage, kSets);
    EXPECT_GE(coverage, least);
    EXPECT_LE(coverage, 0.98) << "wider than it needs to be";
  }
}

// A broken twin: whoever draws takes and forgets that those of a lesson resemble each other is sure far too often.
TEST(StatisticsOutside, DrawingTakesWithoutTheirLessonsWouldBeFarTooSure) {
  int held = 0, flat_held = 0;
  constexpr int kSets = 200;
  for (int set = 0; set < kSets; ++set) {
    const NestedValues values = Clustered(8, 3, 2, 0.3, static_cast<uint64_t>(set));
    NestedValues flat;
    for (const auto& lesson : values.lessons) {
      for (const auto& person : lesson) {
        for (const double value : person) flat.lessons.push_back({{value}});
      }
    }
    held += HierarchicalInterval(values, 500, 7).Holds(0.3);
    flat_held += HierarchicalInterval(flat, 500, 7).Holds(0.3);
  }
  EXPECT_GT(held, 0.9 * kSets);
  EXPECT_LT(flat_held, 0.75 * kSets);
}

TEST(StatisticsOutside, MoreSeedsNeverSettleWhatLessonsDisagreeOn) {
  // Means of lessons +3, -1, +2, -2: mean 0.5. Seeds of one lesson agree to 0.01.
  NestedValues values;
  for (const double mean : {3.0, -1.0, 2.0, -2.0})
    values.lessons.push_back({{mean - 0.01, mean + 0.01}, {mean + 0.01, mean - 0.01}});
  const MoreToSettle more = WhatWouldSettle(values);
  ASSERT_TRUE(more.lessons);
  EXPECT_FALSE(more.seeds);
  EXPECT_FALSE(more.people);
  // The deviation is 2.38: t(n - 1) * 2.38 / sqrt(n) falls below 0.5 at n = 90 (t = 1.987) and not at 89.
  EXPECT_EQ(*more.lessons, 90);
}

TEST(StatisticsOutside, SameSeedSameInterval) {
  const NestedValues values = Clustered(5, 2, 2, 0, 3);
  const Interval a = HierarchicalInterval(values, 300, 1), b = HierarchicalInterval(values, 300, 1);
  EXPECT_EQ(a.lo, b.lo);
  EXPECT_EQ(a.hi, b.hi);
}

}  // namespace
}  // namespace dryrig
