#pragma once

#include <fmt/format.h>

#include <cstring>

#include "tests/metrics/take_builder.h"

namespace dryrig::testing {

/// What is wrong with one score as such; empty if it keeps the contract of metric.h.
inline std::vector<std::string> CheckScore(const Take& take, const Score& score) {
  std::vector<std::string> wrong;
  if (score.value && !std::isfinite(*score.value)) wrong.push_back("value is not finite");
  const Series& series = score.series;
  const bool of_frames = series.rate_hz == take.id.frame_hz && series.values.size() == take.frames.size();
  const bool of_ticks = series.rate_hz == take.id.physics_hz && series.values.size() == take.ticks.size();
  if (!of_frames && !of_ticks) wrong.push_back(fmt::format("series of {} values at {} Hz", series.values.size(), series.rate_hz));
  for (const double value : series.values) {
    if (std::isinf(value)) wrong.push_back("series is infinite somewhere");
  }
  const bool any = std::any_of(series.values.begin(), series.values.end(), [](double v) { return !std::isnan(v); });
  if (score.value && !any) wrong.push_back("a value without a series behind it");
  if (score.worst_t_s && !score.value) wrong.push_back("a worst moment without a value");
  if (score.worst_t_s && !(*score.worst_t_s >= 0 && *score.worst_t_s <= take.duration_s))
    wrong.push_back("worst moment outside the take");
  return wrong;
}

inline bool SameBits(const Score& a, const Score& b) {
  const auto& x = a.series.values;
  const auto& y = b.series.values;
  return a.value == b.value && a.worst_t_s == b.worst_t_s && a.worst_what == b.worst_what && x.size() == y.size() &&
         (x.empty() || std::memcmp(x.data(), y.data(), x.size() * sizeof(double)) == 0);
}

/// Everything that a metric breaks of its contract, given a take that does well by it and one that does badly.
inline std::vector<std::string> CheckMetric(const Metric& metric, const Take& good, const Take& bad) {
  std::vector<std::string> wrong;
  const auto add = [&](const std::string& what) { wrong.push_back(fmt::format("{}: {}", metric.name, what)); };
  if (metric.name.empty() || metric.meaning.empty()) add("no name or meaning");

  for (const Take* take : {&good, &bad}) {
    const Score score = metric.compute(Footage(*take));
    for (const std::string& what : CheckScore(*take, score)) add(what);
    if (!score.value) {
      add("null although there is something to measure");
      continue;
    }
    if (!SameBits(score, metric.compute(Footage(*take)))) add("scoring again gives another result");
    // The subject's middle is the middle of a box in the world's axes, so a scene keeps its numbers under quarter turns.
    for (const int quarters : {1, 2, 3}) {
      const Take turned = Turned(*take, quarters * kPi / 2);
      const Score again = metric.compute(Footage(turned));
      if (!again.value || std::abs(*again.value - *score.value) > 1e-9 * std::max(1.0, std::abs(*score.value))) {
        add(fmt::format("{} becomes {} in the scene turned by {} quarters", *score.value, again.value.value_or(std::nan("")),
                        quarters));
      }
    }
  }
  const auto value_good = metric.compute(Footage(good)).value, value_bad = metric.compute(Footage(bad)).value;
  if (value_good && value_bad) {
    const double gain = *value_good - *value_bad;
    const bool right = metric.direction == Direction::kUp     ? gain > 0
                       : metric.direction == Direction::kDown ? gain < 0
                                                              : gain != 0;
    if (!right) add(fmt::format("direction: good take {}, bad take {}", *value_good, *value_bad));
  }
  return wrong;
}

}  // namespace dryrig::testing
