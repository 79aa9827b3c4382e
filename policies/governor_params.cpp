#include <fmt/format.h>

#include <array>

#include "policies/choice.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr std::array kParams{
    GovernorParam{"governor_contact_m_per_s", "m/s", 0, 1, "fastest where the arm could be touched; never toward a head",
                  [](GovernorSpec& s) -> double& { return s.contact_mps; }},
    GovernorParam{"governor_head_m_per_s", "m/s", 0.1, 5, "heads are taken to be no faster",
                  [](GovernorSpec& s) -> double& { return s.head_mps; }},
    GovernorParam{"governor_trunk_m_per_s", "m/s", 0.1, 5, "nor trunks", [](GovernorSpec& s) -> double& { return s.trunk_mps; }},
    GovernorParam{"governor_limb_m_per_s", "m/s", 0.1, 5, "nor arms, hands and legs",
                  [](GovernorSpec& s) -> double& { return s.limb_mps; }},
    GovernorParam{"governor_sensor_hz", "1/s", 5, 240, "samples of its own sensor, and its decisions",
                  [](GovernorSpec& s) -> double& { return s.sensor.rate_hz; }},
    GovernorParam{"governor_latency_s", "s", 0, 1, "age of a sample when it comes",
                  [](GovernorSpec& s) -> double& { return s.sensor.latency_s; }},
    GovernorParam{"governor_error_m", "m", 0, 0.5, "most that a sampled point is off",
                  [](GovernorSpec& s) -> double& { return s.sensor.error_m; }},
    GovernorParam{"governor_dead_from_s", "s", 0, 1e9, "a fault: its sensor delivers nothing from here",
                  [](GovernorSpec& s) -> double& { return s.sensor.dead_from_s; }},
    GovernorParam{"governor_dead_until_s", "s", 0, 1e9, "to here",
                  [](GovernorSpec& s) -> double& { return s.sensor.dead_until_s; }},
};

}  // namespace

std::span<const GovernorParam> GovernorParams() {
  return kParams;
}

std::optional<GovernorSpec> TakeGovernor(ParamValues* values) {
  bool on = false;
  if (const auto it = values->find(kGovernorParam); it != values->end()) {
    if (it->second != 0 && it->second != 1)
      throw InputError(fmt::format("parameter {}: {} is neither 0 nor 1", kGovernorParam, it->second));
    on = it->second == 1;
    values->erase(it);
  }
  GovernorSpec spec;
  for (const GovernorParam& param : kParams) {
    const auto it = values->find(param.name);
    if (it == values->end()) continue;
    if (!(it->second >= param.lo && it->second <= param.hi)) {
      throw InputError(
          fmt::format("parameter {}: {} is outside [{}, {}] {}", param.name, it->second, param.lo, param.hi, param.unit));
    }
    if (!on) throw InputError(fmt::format("parameter {} needs {}=1", param.name, kGovernorParam));
    param.of(spec) = it->second;
    values->erase(it);
  }
  if (!on) return std::nullopt;
  return spec;
}

}  // namespace dryrig
