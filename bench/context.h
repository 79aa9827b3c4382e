#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace dryrig {

/// What made a result: goes into every file that a machine reads, so that numbers of two builds are not mixed up.
struct BuildContext {
  std::string version, git, compiler, bullet, build_type;
  std::string program;  // hash of the program's own bytes: another build, another hash
  bool operator==(const BuildContext&) const = default;
};

/// Of the running program. Reads its file once per call.
BuildContext ThisBuild();
nlohmann::ordered_json ToJson(const BuildContext& build);
/// Inverse; fields that are missing stay empty.
BuildContext ReadBuildContext(const std::string& json);
/// `dryrig 0.1.0 (git), GCC 12.2.0, Bullet 3.24, Release`.
std::string ToLine(const BuildContext& build);

/// Closes every report.
inline constexpr const char* kCaution =
    "Caution: this is a simulation, not a risk assessment. Before an arm moves near a person, the robot's manual, local codes "
    "and a\n"
    "qualified person decide.";

}  // namespace dryrig
