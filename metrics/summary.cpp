#include "metrics/summary.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

std::vector<double> Present(std::span<const double> values) {
  std::vector<double> out;
  out.reserve(values.size());
  for (const double value : values) {
    if (!std::isnan(value)) out.push_back(value);
  }
  return out;
}

}  // namespace

std::optional<double> MeanOf(std::span<const double> values) {
  double sum = 0;
  size_t n = 0;
  for (const double value : values) {
    if (std::isnan(value)) continue;
    sum += value;
    ++n;
  }
  if (n == 0) return std::nullopt;
  return sum / static_cast<double>(n);
}

std::optional<double> RmsOf(std::span<const double> values) {
  double sum = 0;
  size_t n = 0;
  for (const double value : values) {
    if (std::isnan(value)) continue;
    sum += value * value;
    ++n;
  }
  if (n == 0) return std::nullopt;
  return std::sqrt(sum / static_cast<double>(n));
}

std::optional<size_t> WorstIndex(std::span<const double> values, Worst worst) {
  std::optional<size_t> at;
  for (size_t i = 0; i < values.size(); ++i) {
    if (std::isnan(values[i])) continue;
    if (!at || (worst == Worst::kHighest ? values[i] > values[*at] : values[i] < values[*at])) at = i;
  }
  return at;
}

std::optional<double> LeastOf(std::span<const double> values) {
  const auto at = WorstIndex(values, Worst::kLowest);
  return at ? std::optional(values[*at]) : std::nullopt;
}

std::optional<double> GreatestOf(std::span<const double> values) {
  const auto at = WorstIndex(values, Worst::kHighest);
  return at ? std::optional(values[*at]) : std::nullopt;
}

std::optional<double> PercentileOf(std::span<const double> values, double percent) {
  std::vector<double> present = Present(values);
  if (present.empty()) return std::nullopt;
  const double rank = std::clamp(percent, 0.0, 100.0) / 100 * static_cast<double>(present.size() - 1);
  const auto below = static_cast<size_t>(rank);
  const auto nth = present.begin() + static_cast<std::ptrdiff_t>(below);
  std::nth_element(present.begin(), nth, present.end());
  const double low = *nth;
  if (below + 1 == present.size()) return low;
  const double high = *std::min_element(nth + 1, present.end());
  return low + (rank - static_cast<double>(below)) * (high - low);
}

Score MakeScore(std::optional<double> value, Series series, Worst worst, std::string worst_what, std::optional<double> flawless) {
  Score score;
  score.value = value;
  const auto at = WorstIndex(series.values, worst);
  if (value && at) {
    const double most = series.values[*at];
    const bool bad = worst == Worst::kHighest ? most > flawless.value_or(0) : !flawless || most < *flawless;
    if (bad) {
      score.worst_t_s = static_cast<double>(*at) / series.rate_hz;
      score.worst_what = std::move(worst_what);
    }
  }
  score.series = std::move(series);
  return score;
}

}  // namespace dryrig
