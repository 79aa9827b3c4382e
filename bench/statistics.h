#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace dryrig {

/// Wilcoxon's signed-rank test of differences about 0, two-sided, exact: every assignment of signs is counted. Zeros are left
/// out, equal sizes share their mean rank. At most 500 differences. Nothing left: p is 1.
struct SignedRank {
  int n = 0;
  double w_plus = 0, w_minus = 0, p = 1;
};
SignedRank WilcoxonSignedRank(std::span<const double> differences);

/// p values that may be read side by side: Holm 1979, step-down; in the order given.
std::vector<double> HolmAdjusted(std::span<const double> p);

/// Mean of the middle half: floor(n/4) values are left out at each end. @pre not empty
double InterquartileMean(std::vector<double> values);

/// Share of pairs in which a value of `a` is greater than one of `b`, equal ones counted half. @pre neither is empty
double ProbabilityGreater(std::span<const double> a, std::span<const double> b);

struct Interval {
  double lo = 0, hi = 0;
  bool Holds(double value) const { return lo <= value && value <= hi; }
};

/// Differences that resemble each other: one a take, grouped by person, grouped by lesson.
struct NestedValues {
  std::vector<std::vector<std::vector<double>>> lessons;  // [lesson][person][seed]
  bool empty() const { return lessons.empty(); }
};
/// Mean of lesson means, each a mean of its people's means.
double NestedMean(const NestedValues& values);
std::vector<double> LessonMeans(const NestedValues& values);

/// 95 % interval of NestedMean: lessons are drawn with replacement, then people of each, then seeds. Percentiles are widened for
/// the small number of lessons as Hesterberg 2015 (The American Statistician 69, expanded percentile interval) does. One lesson
/// alone: people are the uppermost draw, and one person alone: seeds. Same values and seed: same interval.
/// @pre not empty, no group is empty
Interval HierarchicalInterval(const NestedValues& values, int draws, uint64_t seed);

/// How many lessons, or people, or seeds a lesson, with all else as it is, would shrink the interval until it excludes 0, were
/// the mean and the spread to stay. None: no number would, or the level has no spread to be known from.
struct MoreToSettle {
  std::optional<int> lessons, people, seeds;
};
MoreToSettle WhatWouldSettle(const NestedValues& values);

}  // namespace dryrig
