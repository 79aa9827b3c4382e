#include <algorithm>
#include <cmath>

#include "metrics/compute.h"
#include "metrics/contact_limits.h"
#include "metrics/pair_motion.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

Series Distances(const Footage& footage) {
  return PerTick(footage, [](const TakeTick& tick) { return HasPair(tick) ? tick.clearance.distance_m : kGap; });
}

std::string PairAtWorst(const Take& take, const Series& series, Worst worst) {
  const auto at = WorstIndex(series.values, worst);
  return at ? PairName(take, take.ticks[*at]) : "";
}

Score DistanceScore(const Footage& footage, Series series, std::optional<double> value) {
  std::string pair = PairAtWorst(footage.take(), series, Worst::kLowest);
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(pair));
}

/// Time to stop all joints at their acceleration limits; none where a moving joint states no limit.
std::optional<double> StoppingTime_s(const Take& take, const TakeTick& tick) {
  double longest_s = 0;
  for (size_t j = 0; j < take.joints.size(); ++j) {
    const double speed = std::abs(tick.qd[static_cast<Eigen::Index>(j)]);
    if (speed == 0) continue;
    if (!(take.joints[j].acceleration > 0)) return std::nullopt;
    longest_s = std::max(longest_s, speed / take.joints[j].acceleration);
  }
  return longest_s;
}

}  // namespace

Score ClosestApproach(const Footage& footage) {
  Series series = Distances(footage);
  const auto value = LeastOf(series.values);
  return DistanceScore(footage, std::move(series), value);
}

Score ClosestApproachP5(const Footage& footage) {
  Series series = Distances(footage);
  const auto value = PercentileOf(series.values, 5);
  return DistanceScore(footage, std::move(series), value);
}

Score ApproachSpeed(const Footage& footage) {
  const Take& take = footage.take();
  const Series distances = Distances(footage);
  Series series{take.id.physics_hz, std::vector<double>(take.ticks.size(), kGap)};
  const auto closest = WorstIndex(distances.values, Worst::kLowest);
  if (!closest) return MakeScore(std::nullopt, std::move(series), Worst::kHighest);
  for (size_t i = 0; i < take.ticks.size(); ++i) {
    if (HasPair(take.ticks[i])) series.values[i] = RelativeSpeed_mps(take, i);
  }
  // The nearest pair may change at the very moment, and its speed jump: a mean over some ticks about it does not hang on one.
  constexpr double kAbout_s = 0.1;
  const auto reach = static_cast<size_t>(kAbout_s * take.id.physics_hz);
  const size_t end = std::min(*closest + reach + 1, series.values.size());
  double sum = 0;
  size_t ticks = 0;
  for (size_t i = *closest - std::min(*closest, reach); i < end; ++i) {
    if (std::isnan(series.values[i])) continue;
    sum += series.values[i];
    ++ticks;
  }
  Score score{sum / static_cast<double>(ticks),
              static_cast<double>(*closest) / take.id.physics_hz,
              PairName(take, take.ticks[*closest]),
              {}};
  score.series = std::move(series);
  return score;
}

Score SeparationMargin(const Footage& footage) {
  const Take& take = footage.take();
  const SeparationConstants constants;
  size_t i = 0;
  const CameraPath& path = footage.path();
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    const size_t at = i++;
    const auto stopping_s = StoppingTime_s(take, tick);
    if (!HasPair(tick) || !stopping_s) return kGap;
    double robot_mps = FastestBody_mps(take, static_cast<double>(at) / take.id.physics_hz);
    if (at >= path.first && at - path.first < path.size()) robot_mps = std::max(robot_mps, path.speed_mps[at - path.first]);
    return tick.clearance.distance_m - ProtectiveSeparation_m(constants, robot_mps, *stopping_s);
  });
  const auto value = LeastOf(series.values);
  return DistanceScore(footage, std::move(series), value);
}

}  // namespace dryrig
