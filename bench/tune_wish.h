#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/comparison.h"
#include "bench/statistics.h"
#include "scenes/suite.h"

namespace dryrig {

/// What is wished of a metric, in its better direction.
struct MetricWish {
  const Metric* metric = nullptr;
  double weight = 1;
};
/// `METRIC` or `METRIC=WEIGHT`, the weight above 0. @throws InputError: unknown (with the nearest), no direction is better, no
/// such weight.
MetricWish ParseWish(const std::string& text);
/// @throws InputError also where a metric is named twice, or none is.
std::vector<MetricWish> ParseWishes(const std::vector<std::string>& texts);
/// `METRIC=VALUE`, a bound that no take may break. @throws InputError.
HardLimit ParseLimit(const std::string& text, bool at_least);

std::optional<double> ValueOf(const TakeScores& take, const Metric& metric);
/// Mean over lessons, of each over its people, of each over takes; none where no take has a value.
std::optional<double> MeanOf(const std::vector<TakeScores>& takes, const Metric& metric);
std::optional<double> WorstOf(const std::vector<TakeScores>& takes, const Metric& metric);
/// Differences of takes that are pairs in the order given: later minus earlier, of those with both values.
NestedValues Changes(const std::vector<TakeScores>& from, const std::vector<TakeScores>& to, const Metric& metric);

/// Takes of a setting beside those of the start: what the wishes say, and whether limits hold.
///
/// A metric's change counts as a share of its mean at the start (of its gate tolerance, where that is more), in the worse
/// direction; the cost is the mean of these shares by weight: -0.1 is a tenth better. A broken limit adds 1 and the share by
/// which it is broken, a take that failed makes the cost kFailed.
class WishJudge {
 public:
  static constexpr double kFailed = 10;

  /// `start` are the start's takes. Unless a limit names it, no take's closest_approach may be nearer than the start's nearest,
  /// less the metric's gate tolerance. @throws RunError where a wished metric has no value in any take.
  WishJudge(std::vector<MetricWish> wishes, std::vector<HardLimit> limits, const std::vector<TakeScores>& start);

  const std::vector<MetricWish>& wishes() const { return wishes_; }
  const std::vector<HardLimit>& limits() const { return limits_; }
  /// `takes` empty: one of them failed.
  double Cost(const std::vector<TakeScores>& takes) const;
  double CostWithoutLimits(const std::vector<TakeScores>& takes) const;
  /// A single wish's share of change, without limits: above 0 is worse.
  double Change(const MetricWish& wish, const std::vector<TakeScores>& takes) const;
  /// What is added for limits that are broken; 0: all hold.
  double Broken(const std::vector<TakeScores>& takes) const;
  /// The gain by the wishes take by take, in per cent: minus 100 times the cost without limits. A metric without a value in
  /// either take of a pair gains nothing there.
  NestedValues Gains(const std::vector<TakeScores>& from, const std::vector<TakeScores>& to) const;

 private:
  std::vector<MetricWish> wishes_;
  std::vector<HardLimit> limits_;
  std::vector<double> means_, yardsticks_;  // of each wish, at the start
  double weight_ = 0;                       // of all wishes
};

}  // namespace dryrig
