#pragma once

#include <string>
#include <vector>

#include "bench/command.h"
#include "policies/outside/outside_policy.h"

namespace dryrig {

/// What a command that knows policies is told of those from outside.
struct OutsideChoice {
  std::vector<std::string> libraries;
  OutsideOptions options;

  /// Adds `--policy-library` and `--patience`.
  void AddTo(const Command& command);
  /// Adds the libraries' policies to the table, and each of `policies` that is in a Python file. @throws InputError.
  void Load(const std::vector<std::string>& policies) const;
  /// Those of `policies` that are in a Python file alone; one that is there already stays.
  void LoadPython(const std::vector<std::string>& policies) const;
};

}  // namespace dryrig
