#include <fmt/format.h>

#include <algorithm>

#include "metrics/compute.h"
#include "metrics/contact_limits.h"
#include "metrics/pair_motion.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

constexpr double kNear_m = 0.5;         // farther away no contact is about to happen
constexpr double kSameContact_s = 0.1;  // touches nearer in time are one

struct RegionLimits {
  const ContactRegion* region;
  double reduced_mass_kg;
};

/// One a capsule.
std::vector<RegionLimits> LimitsByCapsule(const Take& take) {
  std::vector<RegionLimits> out;
  for (const PersonCapsule& capsule : take.person.capsules) {
    const ContactRegion& region = FindContactRegion(capsule.region);
    out.push_back({&region, ReducedMass_kg(region.mass_kg, take.moving_mass_kg, take.payload_kg)});
  }
  return out;
}

bool Touches(const TakeTick& tick) {
  return HasPair(tick) && tick.clearance.distance_m <= 0;
}

std::string PairAtWorst(const Take& take, const Series& series, Worst worst) {
  const auto at = WorstIndex(series.values, worst);
  return at ? PairName(take, take.ticks[*at]) : "";
}

}  // namespace

Score ContactSpeedMargin(const Footage& footage) {
  const Take& take = footage.take();
  const std::vector<RegionLimits> limits = LimitsByCapsule(take);
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    if (!HasPair(tick) || tick.clearance.distance_m >= kNear_m) return kGap;
    const RegionLimits& limit = limits[static_cast<size_t>(tick.clearance.capsule)];
    if (!(limit.reduced_mass_kg > 0)) return kGap;
    const bool forbidden = Touches(tick) && limit.region->transient_factor == 1;
    const double permitted_mps =
        forbidden ? 0 : SpeedForForce_mps(limit.region->limit_N(), limit.reduced_mass_kg, limit.region->stiffness_N_per_m);
    return permitted_mps - std::max(0.0, tick.approach_mps);
  });
  const auto value = LeastOf(series.values);
  std::string pair = PairAtWorst(take, series, Worst::kLowest);
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(pair));
}

Score Contacts(const Footage& footage) {
  const Take& take = footage.take();
  if (std::none_of(take.ticks.begin(), take.ticks.end(), HasPair)) {
    return MakeScore(std::nullopt, {take.id.physics_hz, std::vector<double>(take.ticks.size(), kGap)}, Worst::kHighest);
  }
  double count = 0;
  std::optional<size_t> first, last;
  size_t i = 0;
  // The count so far, tick by tick.
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    if (Touches(tick)) {
      if (!last || static_cast<double>(i - *last) > kSameContact_s * take.id.physics_hz) ++count;
      if (!first) first = i;
      last = i;
    }
    ++i;
    return count;
  });
  Score score = MakeScore(count, std::move(series), Worst::kHighest);
  if (first) {
    score.worst_t_s = static_cast<double>(*first) / take.id.physics_hz;
    score.worst_what = PairName(take, take.ticks[*first]);
  }
  return score;
}

Score ContactForce(const Footage& footage) {
  const Take& take = footage.take();
  const std::vector<RegionLimits> limits = LimitsByCapsule(take);
  Series series = PerTick(footage, [&](const TakeTick& tick) {
    if (!Touches(tick)) return kGap;
    const RegionLimits& limit = limits[static_cast<size_t>(tick.clearance.capsule)];
    if (!(limit.reduced_mass_kg > 0)) return kGap;
    return ForceForSpeed_N(std::max(0.0, tick.approach_mps), limit.reduced_mass_kg, limit.region->stiffness_N_per_m);
  });
  const auto value = GreatestOf(series.values);
  std::string pair = PairAtWorst(take, series, Worst::kHighest);
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(pair));
}

Score Startles(const Footage& footage) {
  const Take& take = footage.take();
  Series series = PerFrame(footage, [&](size_t i, const auto&) {
    const double t_s = static_cast<double>(i) / take.id.frame_hz;
    return static_cast<double>(
        std::count_if(take.startles.begin(), take.startles.end(), [&](const Startle& s) { return s.start_s <= t_s; }));
  });
  const bool watched = !series.values.empty();
  Score score = MakeScore(watched ? std::optional(static_cast<double>(take.startles.size())) : std::nullopt, std::move(series),
                          Worst::kHighest);
  if (!take.startles.empty()) score.worst_t_s = take.startles.front().start_s;
  return score;
}

}  // namespace dryrig
