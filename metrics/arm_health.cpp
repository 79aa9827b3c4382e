#include <algorithm>
#include <cmath>
#include <numbers>

#include "metrics/compute.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

constexpr double kSaturated = 0.999;  // share of the effort limit

/// Least value over the joints, tick by tick; its worst moment names the joint. `f(joint limit, tick, index)`: kGap to pass.
template <class F>
Score LeastOverJoints(const Footage& footage, F f) {
  const Take& take = footage.take();
  double least = kGap;
  std::string which;
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    double now = kGap;
    for (size_t j = 0; j < take.joints.size(); ++j) {
      const double value = f(take.joints[j], tick, static_cast<Eigen::Index>(j));
      if (std::isnan(value) || value >= now) continue;
      now = value;
      if (!(value >= least)) least = value, which = take.joints[j].name;
    }
    return now;
  });
  const auto value = LeastOf(series.values);
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(which));
}

}  // namespace

Score JointLimitMargin(const Footage& footage) {
  return LeastOverJoints(footage, [](const JointLimit& joint, const TakeTick& tick, Eigen::Index j) {
    const double half = 0.5 * (joint.upper - joint.lower);
    return half > 0 ? std::min(tick.q[j] - joint.lower, joint.upper - tick.q[j]) / half : kGap;
  });
}

Score JointSpeedMargin(const Footage& footage) {
  return LeastOverJoints(footage, [](const JointLimit& joint, const TakeTick& tick, Eigen::Index j) {
    return joint.velocity > 0 ? 1 - std::abs(tick.qd[j]) / joint.velocity : kGap;
  });
}

Score Singularity(const Footage& footage) {
  const Take& take = footage.take();
  Series series = PerFrame(footage, [&](size_t i, const FrameView&) { return take.frames[i].manipulability; });
  const auto value = LeastOf(series.values);
  return MakeScore(value, std::move(series), Worst::kLowest);
}

Score ServoError(const Footage& footage) {
  const Take& take = footage.take();
  double sum = 0;
  size_t n = 0;
  double greatest = -1;
  std::string which;
  // The series is each tick's greatest error, the value the root mean square over all turning joints and ticks.
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    double most = kGap;
    for (size_t j = 0; j < take.joints.size(); ++j) {
      if (take.joints[j].prismatic) continue;
      const auto at = static_cast<Eigen::Index>(j);
      const double error_deg = std::abs(tick.q_wish[at] - tick.q[at]) * 180 / std::numbers::pi;
      sum += error_deg * error_deg;
      ++n;
      if (!(error_deg <= most)) most = error_deg;
      if (error_deg > greatest) greatest = error_deg, which = take.joints[j].name;
    }
    return most;
  });
  const auto value = n > 0 ? std::optional(std::sqrt(sum / static_cast<double>(n))) : std::nullopt;
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(which));
}

Score TorqueSaturation(const Footage& footage) {
  const Take& take = footage.take();
  std::string which;
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    double saturated = take.joints.empty() ? kGap : 0;
    for (size_t j = 0; j < take.joints.size(); ++j) {
      const double effort = take.joints[j].effort;
      if (!(effort > 0) || std::abs(tick.torque[static_cast<Eigen::Index>(j)]) < kSaturated * effort) continue;
      saturated = 1;
      if (which.empty()) which = take.joints[j].name;
    }
    return saturated;
  });
  const auto value = MeanOf(series.values);
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(which));
}

Score Unreachable(const Footage& footage) {
  const Take& take = footage.take();
  Series series = PerFrame(footage, [&](size_t i, const FrameView&) { return take.frames[i].unreachable ? 1.0 : 0.0; });
  const auto value = MeanOf(series.values);
  return MakeScore(value, std::move(series), Worst::kHighest);
}

}  // namespace dryrig
