#pragma once

#include <filesystem>
#include <string>

#include "bench/outside_options.h"
#include "policies/choice.h"

namespace dryrig {

/// A policy with parameters, kept in a file:
///   dryrig: params/1
///   policy: planner
///   params:
///     size: 1.4
/// Keys are the policy's parameters, or those that every policy has; what is not named keeps its default. A policy in a Python
/// file is loaded; one of a library must be. @throws InputError (file:line:column) for an unknown policy or key (with the
/// nearest), or a value out of range.
PolicyChoice ReadParamFile(const std::filesystem::path& file, const OutsideChoice& outside = {});
PolicyChoice ParseParamFile(const std::string& text, const std::string& file_name, const OutsideChoice& outside = {});
/// Such a file; each line of `comment` after the first line. Read again, it gives the same values.
std::string ParamFileText(const PolicyChoice& policy, const std::string& comment);

/// What --params and --policy say together: the file's values and over them those of `policy`, `NAME` or `NAME:key=value,...`.
/// Either may be empty. @throws InputError where both are, or name two policies.
PolicyChoice StartFrom(const std::filesystem::path& file, const std::string& policy, const OutsideChoice& outside);

/// As a command line spells it: `NAME:key=value,key=value`.
std::string Spelled(const PolicyChoice& policy);

}  // namespace dryrig
