#pragma once

#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "sim/policy.h"

namespace dryrig {

/// One line a policy in table.cpp; or one from outside the program, added as it starts.
struct PolicyEntry {
  std::string name;
  std::string meaning;
  bool deployable;
  std::function<std::vector<ParamInfo>()> params;
  std::function<std::unique_ptr<Policy>(const ParamValues&)>
      make;               // @throws InputError for an unknown key or a value out of range
  std::string file = {};  // from outside: where it was loaded from
  std::string code = {};  // from outside: a hash of what it is made of
};

/// A policy in a Python file is named `python:FILE.py:CLASS`.
inline constexpr std::string_view kPythonPrefix = "python:";
/// The name without the file's folders, which is the policy's in tables and stores; any other name as it is.
std::string PlainPolicyName(std::string_view name);

/// In the table's order, then as added. References stay good.
const std::deque<PolicyEntry>& Policies();
/// Adds one from outside. Not while other threads use the table. @throws InputError where the name is taken or is not of letters
/// a-z, digits, `-` and `_` (or `python:FILE.py:CLASS`).
void AddPolicy(PolicyEntry entry);
/// @throws InputError with the nearest name.
const PolicyEntry& FindPolicy(std::string_view name);
/// None where the program does not know it, as one from outside that is in a store.
const PolicyEntry* FindPolicyIfKnown(std::string_view name);
/// Only a policy of the program itself is ever given the scoring key.
bool IsDeployable(std::string_view name);

}  // namespace dryrig
