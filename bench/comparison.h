#pragma once

#include <array>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "metrics/metric.h"
#include "sim/store.h"
#include "sim/take.h"

namespace dryrig {

/// The scores of one finished take.
struct TakeScores {
  TakeIdentity id;
  std::vector<StoredScore> scores;  // in the order of Metrics()
};

/// How a metric's values become one over several takes. A mean would hide a near miss: what is about safety, and every other
/// extreme, keeps its worst value.
enum class Gather { kMean, kWorst };
Gather GatherOf(const Metric& metric);

/// One policy over all takes of a group; `values` in the order of Metrics(), none where no take had anything to measure.
struct PolicySummary {
  std::string policy, params;
  bool deployable = true;
  size_t takes = 0;
  std::vector<std::optional<double>> values;
  bool unbeaten = false;
};
/// In order of first appearance.
std::vector<PolicySummary> Summarise(const std::vector<TakeScores>& takes);

/// The axes on which policies are compared.
inline constexpr std::array kAxes{"hand_visibility", "hand_detail", "framing_error", "jerk", "occlusion", "closest_approach"};
inline constexpr double kVisibilityFloor = 0.5;

/// Marks every policy that no other beats: none is at least as good on all axes and better on one. Only deployable policies with
/// a value on every axis and hand_visibility at `floor` or above take part, so a camera parked before the wall, smooth and safe
/// as it is, is neither marked nor a rival.
void MarkUnbeaten(std::vector<PolicySummary>* policies, double floor);

/// Policies down, metrics across, at most 120 places wide.
std::string SummaryTable(const std::vector<PolicySummary>& policies);
/// Every metric down, policies across.
std::string FullTable(const std::vector<PolicySummary>& policies);
/// What a newcomer needs to read the tables.
std::string SummaryLegend(double floor);
nlohmann::ordered_json ToJson(const PolicySummary& policy);

/// One row a take: identity, then a column a metric with its unit. No times, no paths: same build, same bytes.
std::string ResultsCsv(const std::vector<TakeScores>& takes);

}  // namespace dryrig
