#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "metrics/footage.h"

namespace dryrig {

enum class Direction { kUp, kDown, kNeither };  // which way is better

/// A number a frame or tick; gaps (nothing to measure) are NaN in here, empty in CSV, null in JSON.
struct Series {
  double rate_hz = 0;
  std::vector<double> values;
};

/// One metric's result. `value` none: there was nothing to measure; it is never NaN.
struct Score {
  std::optional<double> value;
  std::optional<double> worst_t_s;
  std::string worst_what;   // "right index tip – camera", "blocked by left forearm"
  Series series;
};

/// One line a metric in table.cpp. `step_tolerance`: how far the value may move between 240, 480 and 960 Hz physics, in `unit`.
struct Metric {
  std::string_view name, unit;
  Direction direction;
  std::string_view meaning;
  double step_tolerance;
  Score (*compute)(const Footage& footage);
};

std::span<const Metric> Metrics();
/// @throws InputError with the nearest name.
const Metric& FindMetric(std::string_view name);

/// All metrics of one take, in the table's order.
struct Scorecard {
  std::vector<Score> scores;
};
Scorecard ScoreTake(const Take& take);

}  // namespace dryrig
