#pragma once

#include <cmath>
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

/// One metric's result. `value` none: there was nothing to measure; it is never NaN or infinite.
struct Score {
  std::optional<double> value;
  std::optional<double> worst_t_s;
  std::string worst_what;  // "right index tip – camera", "blocked by left forearm"
  Series series;
};

/// How far a value may move between 240, 480 and 960 Hz physics: `absolute` in the metric's unit plus `share` of the value.
struct StepTolerance {
  double absolute = 0, share = 0;
  double Allowed(double value) const { return absolute + share * std::abs(value); }
};

/// One line a metric in table.cpp.
struct Metric {
  std::string_view name, unit;
  Direction direction;
  std::string_view meaning;
  StepTolerance step_tolerance;
  Score (*compute)(const Footage& footage);
};

std::span<const Metric> Metrics();
/// @throws InputError with the nearest name.
const Metric& FindMetric(std::string_view name);

/// All metrics of one take, in the table's order.
struct Scorecard {
  std::vector<Score> scores;
};
/// @throws RunError if the take is not whole (see RequireWhole).
Scorecard ScoreTake(const Take& take, const Tolerances& tolerances = {});

}  // namespace dryrig
