#include "policies/setup_params.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <string_view>
#include <type_traits>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

namespace {

const GovernorSpec& GovernorOf(const TakeSetup& setup) {
  static const GovernorSpec usual;
  return setup.governor ? *setup.governor : usual;
}

/// A number of the safety layer. `Of` tells where it stands in a GovernorSpec.
template <auto Of>
constexpr SetupParam OfGovernor(const char* name, const char* unit, double lo, double hi, const char* meaning) {
  const auto get = [](const TakeSetup& setup) { return Of(GovernorOf(setup)); };
  const auto set = [](TakeSetup* setup, double value) { Of(*setup->governor) = value; };
  return {name, unit, lo, hi, false, meaning, get, set};
}
/// The same of a fault.
template <auto Of>
constexpr SetupParam OfFaults(const char* name, const char* unit, double lo, double hi, bool whole, const char* meaning) {
  const auto get = [](const TakeSetup& setup) { return static_cast<double>(Of(setup.faults)); };
  const auto set = [](TakeSetup* setup, double value) {
    auto& place = Of(setup->faults);
    place = static_cast<std::remove_reference_t<decltype(place)>>(value);
  };
  return {name, unit, lo, hi, whole, meaning, get, set};
}

constexpr std::array kParams{
    SetupParam{kLatencyParam, "s", 0, 2, false, "thinking time, simulated; rounded up to whole control periods",
               [](const TakeSetup& setup) { return setup.decision_latency_s; },
               [](TakeSetup* setup, double value) { setup->decision_latency_s = value; }},
    SetupParam{kGovernorParam, "", 0, 1, true, "1: a safety layer between policy and servo slows, stops and retreats",
               [](const TakeSetup& setup) { return setup.governor ? 1.0 : 0.0; },
               [](TakeSetup* setup, double value) {
                 if (value == 1 && !setup->governor) setup->governor.emplace();
                 if (value == 0) setup->governor.reset();
               }},
    OfGovernor < [](auto& g) -> auto& {return g.contact_mps;
}  // namespace
> ("governor_contact_m_per_s", "m/s", 0, 1, "fastest where the arm could be touched; never toward a head"), OfGovernor < [
](auto& g) -> auto& {
  return g.head_mps;
}
> ("governor_head_m_per_s", "m/s", 0.1, 5, "heads are taken to be no faster"), OfGovernor < [](auto& g) -> auto& {
  return g.trunk_mps;
}
> ("governor_trunk_m_per_s", "m/s", 0.1, 5, "nor trunks"), OfGovernor < [](auto& g) -> auto& {
  return g.limb_mps;
}
> ("governor_limb_m_per_s", "m/s", 0.1, 5, "nor arms, hands and legs"), OfGovernor < [](auto& g) -> auto& {
  return g.sensor.rate_hz;
}
> ("governor_sensor_hz", "1/s", 5, 240, "samples of its own sensor, and its decisions"), OfGovernor < [](auto& g) -> auto& {
  return g.sensor.latency_s;
}
> ("governor_latency_s", "s", 0, 1, "age of a sample when it comes"), OfGovernor < [](auto& g) -> auto& {
  return g.sensor.error_m;
}
> ("governor_error_m", "m", 0, 0.5, "most that a sampled point is off"), OfGovernor < [](auto& g) -> auto& {
  return g.sensor.dead_from_s;
}
> ("governor_dead_from_s", "s", 0, 1e9, "a fault: its sensor delivers nothing from here"), OfGovernor < [](auto& g) -> auto& {
  return g.sensor.dead_until_s;
}
> ("governor_dead_until_s", "s", 0, 1e9, "to here"), OfGovernor < [](auto& g) -> auto& {
  return g.sensor.late_s;
}
> ("governor_late_stop_s", "s", 0, 5, "a fault: it stops so late, for what it sees is so much older than it knows"), OfFaults < [
](auto& f) -> auto& {
  return f.at_s;
}
> ("fault_at_s", "s", 0, 1e9, false, "when the faults below begin"), OfFaults < [](auto& f) -> auto& {
  return f.stuck_joint;
}
> ("fault_stuck_joint", "", 0, kMaxJoints, true, "this joint, from 1, seizes for good"), OfFaults < [](auto& f) -> auto& {
  return f.tracker_frozen_s;
}
> ("fault_tracker_frozen_s", "s", 0, 1e9, false, "so long the tracker repeats what it saw, as if fresh"), OfFaults < [
](auto& f) -> auto& {
  return f.payload_kg;
}
> ("fault_payload_kg", "kg", 0, 50, false, "all along: the camera is heavier than declared"), OfFaults < [](auto& f) -> auto& {
  return f.power_lost;
}
> ("fault_power_lost", "", 0, 1, true, "1: no torque from then on; the arm sags, brakes close"), OfFaults < [](auto& f) -> auto& {
  return f.brake_delay_s;
}
> ("fault_brake_delay_s", "s", 0, 5, false, "they close so late"), OfFaults < [](auto& f) -> auto& {
  return f.brake_share;
}
> ("fault_brake_share", "", 0, 10, false, "of the joints' efforts that they bear"), OfFaults < [](auto& f) -> auto& {
  return f.bench_m[0];
}
> ("fault_bench_x_m", "m", -1, 1, false, "the bench is shoved so far within 0.4 s, arm and props with it"), OfFaults < [
](auto& f) -> auto& {
  return f.bench_m[1];
}
> ("fault_bench_y_m", "m", -1, 1, false, "and so far"),
};  // namespace dryrig

}  // namespace

std::span<const SetupParam> SetupParams() {
  return kParams;
}

void TakeSetupParams(ParamValues* values, TakeSetup* setup) {
  for (const SetupParam& param : kParams) {
    const auto it = values->find(param.name);
    if (it == values->end()) continue;
    const double value = it->second;
    if (!(value >= param.lo && value <= param.hi))
      throw InputError(fmt::format("parameter {}: {} is outside [{}, {}]{}{}", param.name, value, param.lo, param.hi,
                                   *param.unit == '\0' ? "" : " ", param.unit));
    if (param.whole && value != std::round(value))
      throw InputError(fmt::format("parameter {}: {} is no whole number", param.name, value));
    if (std::string_view(param.name).starts_with("governor_") && !setup->governor)
      throw InputError(fmt::format("parameter {} needs {}=1", param.name, kGovernorParam));
    param.set(setup, value);
    values->erase(it);
  }
  for (const auto& [key, value] : *values) {
    if (!key.starts_with("governor") && !key.starts_with("fault")) continue;
    std::vector<std::string> known;
    for (const SetupParam& param : kParams) known.emplace_back(param.name);
    throw InputError(fmt::format("parameter \"{}\" = {}: no such parameter{}", key, value, Suggest(key, known)));
  }
}

std::string AllParams(const PolicyEntry& policy, const ParamValues& values, const TakeSetup& setup) {
  ParamValues all;
  const TakeSetup usual;
  for (const SetupParam& param : kParams) {
    if (param.get(setup) != param.get(usual)) all[param.name] = param.get(setup);
  }
  for (const ParamInfo& info : policy.params()) all[info.name] = info.value;
  for (const auto& [key, value] : values) all[key] = value;
  std::string out;
  for (const auto& [key, value] : all) out += fmt::format("{}{}={}", out.empty() ? "" : " ", key, value);
  return out;
}

}  // namespace dryrig
