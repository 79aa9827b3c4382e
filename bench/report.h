#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "bench/comparison.h"
#include "bench/paired.h"
#include "bench/sensitivity.h"

namespace dryrig {

/// What a report is made of.
struct ReportInput {
  std::string title;
  std::vector<TakeScores> takes;
  std::vector<std::string> commands;  // one a take: films it again
  std::vector<PairedComparison> primary;
  std::vector<Ranking> rankings;  // by other scoring keys, where the suite names any
  std::string context;            // JSON
};

/// All that the page shows: policies with intervals, takes, worst takes, metrics, context, caution.
nlohmann::ordered_json ReportJson(const ReportInput& input);
/// The page, whole in one text: works from disk and needs no network. `charts` is the chart library's own text.
std::string ReportHtml(const nlohmann::ordered_json& data, const std::string& charts);

}  // namespace dryrig
