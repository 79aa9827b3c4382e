#pragma once

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/policy.h"

namespace dryrig {

/// One line a policy in table.cpp.
struct PolicyEntry {
  std::string_view name;
  std::string_view meaning;
  bool deployable;
  std::vector<ParamInfo> (*params)();
  std::unique_ptr<Policy> (*make)(const ParamValues& values);  // @throws InputError for an unknown key or a value out of range
};

std::span<const PolicyEntry> Policies();
/// @throws InputError with the nearest name.
const PolicyEntry& FindPolicy(std::string_view name);

}  // namespace dryrig
