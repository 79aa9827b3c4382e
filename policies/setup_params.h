#pragma once

#include <span>
#include <string>

#include "policies/table.h"
#include "sim/run.h"

namespace dryrig {

/// A parameter that every policy takes beside its own, for it belongs to the take: thinking time, the safety layer between
/// policy and servo, faults to be planted. In one table, so that all stand in a take's identity the same way.
struct SetupParam {
  const char *name, *unit;
  double lo, hi;
  bool whole;  // takes whole numbers alone
  const char* meaning;
  double (*get)(const TakeSetup& setup);
  void (*set)(TakeSetup* setup, double value);
};
/// In the order in which they are set: what a later one needs comes first.
std::span<const SetupParam> SetupParams();

inline constexpr const char* kLatencyParam = "decision_latency_s";
inline constexpr const char* kGovernorParam = "governor";

/// Takes them out of `values`, into `setup`. @throws InputError for a value out of range, a number of the safety layer without
/// that layer, a fault that the arm does not have.
void TakeSetupParams(ParamValues* values, TakeSetup* setup);

/// `key=value` of every parameter of a policy, sorted by name, space-separated: an identity shows what a default was. Those of
/// the setup are named where they are not the default.
std::string AllParams(const PolicyEntry& policy, const ParamValues& values, const TakeSetup& setup);

}  // namespace dryrig
