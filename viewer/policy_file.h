#pragma once

#include <filesystem>
#include <string>

#include "policies/choice.h"

namespace dryrig {

/// A policy with parameters as one line, as `--policy` takes it: `planner:angle=1.5,size=2`.
std::string PolicyLine(const PolicyChoice& policy);

/// Writes that line into a file, whole or not at all. @throws InputError if the file is there and may not be replaced,
/// RunError if it cannot be written.
void SavePolicyFile(const std::filesystem::path& file, const PolicyChoice& policy, bool replace);
/// @throws InputError (file:1) for anything but one such line, an unknown policy or a parameter out of its range.
PolicyChoice ReadPolicyFile(const std::filesystem::path& file);

/// The shell command that films a lesson with the saved parameters.
std::string CommandWithPolicyFile(const std::string& lesson, const std::filesystem::path& file);

}  // namespace dryrig
