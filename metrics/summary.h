#pragma once

#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "metrics/metric.h"

namespace dryrig {

/// A gap in a series.
inline constexpr double kGap = std::numeric_limits<double>::quiet_NaN();

/// Numbers over the present values of a series, gaps passed over; none if all are gaps.
std::optional<double> MeanOf(std::span<const double> values);
std::optional<double> RmsOf(std::span<const double> values);
std::optional<double> LeastOf(std::span<const double> values);
std::optional<double> GreatestOf(std::span<const double> values);
/// Percentile in [0, 100]: linear between order statistics, the k-th of n at 100 (k-1)/(n-1).
std::optional<double> PercentileOf(std::span<const double> values, double percent);

/// Which end of a series is its worst moment.
enum class Worst { kHighest, kLowest };
/// Index of the first worst present value.
std::optional<size_t> WorstIndex(std::span<const double> values, Worst worst);

/// A score from a series and the number drawn from it; the worst moment is the series' own. A series that is never worse than
/// `flawless` has none: 0 where the highest is worst, nothing where the lowest is, unless the caller knows.
Score MakeScore(std::optional<double> value, Series series, Worst worst, std::string worst_what = "",
                std::optional<double> flawless = std::nullopt);

/// A series with one value a frame: f(index, view), kGap where there is none.
template <class F>
Series PerFrame(const Footage& footage, F f) {
  Series series{footage.take().id.frame_hz, {}};
  series.values.reserve(footage.frames().size());
  for (size_t i = 0; i < footage.frames().size(); ++i) series.values.push_back(f(i, footage.frames()[i]));
  return series;
}
/// A series with one value a physics tick: f(tick).
template <class F>
Series PerTick(const Footage& footage, F f) {
  Series series{footage.take().id.physics_hz, {}};
  series.values.reserve(footage.take().ticks.size());
  for (const TakeTick& tick : footage.take().ticks) series.values.push_back(f(tick));
  return series;
}

}  // namespace dryrig
