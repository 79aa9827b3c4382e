#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>

#include "metrics/compute.h"
#include "metrics/smoothness.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

/// A path's values on the take's ticks; gaps at the ends that the filter leaves out.
Series OnTicks(const Footage& footage, const std::vector<double>& values) {
  Series series{footage.take().id.physics_hz, std::vector<double>(footage.take().ticks.size(), kGap)};
  for (size_t i = 0; i < values.size(); ++i) series.values[footage.path().first + i] = values[i];
  return series;
}

Score PathScore(const Footage& footage, const std::vector<double>& values, std::optional<double> value, const char* unit) {
  const auto most = GreatestOf(values);
  return MakeScore(value, OnTicks(footage, values), Worst::kHighest, most ? fmt::format("{:.3g} {}", *most, unit) : "");
}

/// One number a move, its mean weighted by the moves' ways: a creep that is hardly a move hardly counts, so whether it is one
/// does not matter.
template <class F>
Score MoveScore(const Footage& footage, F measure) {
  const CameraPath& path = footage.path();
  std::vector<double> values(path.size(), kGap);
  double sum = 0, way = 0;
  for (const CameraMove& move : FindMoves(path)) {
    const std::optional<double> value = measure(move);
    if (!value) continue;
    for (size_t i = move.begin; i < move.end; ++i) {
      values[i] = *value;
      sum += *value * path.speed_mps[i];
      way += path.speed_mps[i];
    }
  }
  return MakeScore(way > 0 ? std::optional(sum / way) : std::nullopt, OnTicks(footage, values), Worst::kLowest, "");
}

std::span<const double> Part(const std::vector<double>& values, const CameraMove& move) {
  return std::span(values).subspan(move.begin, move.end - move.begin);
}

}  // namespace

Score Jerk(const Footage& footage) {
  const CameraPath& path = footage.path();
  return PathScore(footage, path.jerk_mps3, RmsOf(path.jerk_mps3), "m/s³");
}

Score JerkMoving(const Footage& footage) {
  const CameraPath& path = footage.path();
  std::vector<double> moving(path.size(), kGap);
  for (size_t i = 0; i < path.size(); ++i) {
    if (path.speed_mps[i] > kMovingSpeed_mps) moving[i] = path.jerk_mps3[i];
  }
  return PathScore(footage, moving, RmsOf(moving), "m/s³");
}

Score JerkP99(const Footage& footage) {
  const CameraPath& path = footage.path();
  return PathScore(footage, path.jerk_mps3, PercentileOf(path.jerk_mps3, 99), "m/s³");
}

Score AngularJerk(const Footage& footage) {
  const CameraPath& path = footage.path();
  return PathScore(footage, path.angular_jerk_rps3, RmsOf(path.angular_jerk_rps3), "rad/s³");
}

Score LogJerkOfMoves(const Footage& footage) {
  const CameraPath& path = footage.path();
  return MoveScore(footage, [&](const CameraMove& move) {
    return LogDimensionlessJerk(Part(path.speed_mps, move), Part(path.jerk_mps3, move), path.rate_hz);
  });
}

Score ArcLengthOfMoves(const Footage& footage) {
  const CameraPath& path = footage.path();
  // The path holds nothing above some 30 Hz: about 120 samples a second keep all of it, at whatever rate the take ran.
  const auto stride = static_cast<size_t>(std::max(1.0, std::floor(path.rate_hz / 120)));
  return MoveScore(footage, [&](const CameraMove& move) {
    std::vector<double> speed;
    for (size_t i = move.begin; i < move.end; i += stride) speed.push_back(path.speed_mps[i]);
    return SpectralArcLength(speed, path.rate_hz / static_cast<double>(stride));
  });
}

}  // namespace dryrig
