#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "bench/comparison.h"
#include "bench/statistics.h"
#include "scenes/suite.h"

namespace dryrig {

/// What tells a policy's takes apart in a table: its name, with the parameters that differ where a name has several settings.
/// One a take, in the takes' order.
std::vector<std::string> PolicyLabels(const std::vector<TakeScores>& takes);

/// Two policies on the takes that both have (same lesson, arm, bench, camera, person, sensing, seed), by one metric.
struct PairedComparison {
  std::string metric, policy, against;
  size_t pairs = 0;                        // takes of both with a value
  double difference = 0;                   // mean over lessons of policy minus against, in the metric's unit
  Interval interval;                       // 95 %
  double iqm_policy = 0, iqm_against = 0;  // interquartile means over takes
  double improvement = 0.5;                // share of all pairs of takes in which the policy is better
  SignedRank test;                         // of the lessons' mean differences
  double p_holm = 1;                       // among the comparisons made together
  MoreToSettle more;
  int better = 0;  // 1: better beyond the interval, -1: worse, 0: undecided
};

/// The comparisons that a suite names, tested together. Those without a pair are left out. @throws InputError for an unknown
/// metric or a policy without takes.
std::vector<PairedComparison> ComparePrimary(const std::vector<TakeScores>& takes, std::span<const PrimaryComparison> primary);

/// With fewer than six lessons no signed-rank test can fall below 5 %.
bool FewLessons(const PairedComparison& comparison);
inline constexpr const char* kFewLessons = "So few lessons speak of themselves, not of lessons in general: name six or more.";

/// `planner against follow: framing_error lower by 0.82 ...`, one paragraph each.
std::string ToText(const std::vector<PairedComparison>& comparisons);
nlohmann::ordered_json ToJson(const PairedComparison& comparison);

/// Differences by lesson, person and seed (the latter over arms, benches, cameras and sensings too).
NestedValues Nest(const std::vector<std::pair<const TakeIdentity*, double>>& differences);

}  // namespace dryrig
