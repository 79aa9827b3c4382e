#include "bench/context.h"

#include <fmt/format.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "git_commit.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

#if defined(__clang__)
constexpr const char* kCompiler = "Clang " __clang_version__;
#else
constexpr const char* kCompiler = "GCC " __VERSION__;
#endif

std::string ProgramHash() {
  std::ifstream program("/proc/self/exe", std::ios::binary);
  std::ostringstream bytes;
  bytes << program.rdbuf();
  return program ? fmt::format("{:016x}", HashText(bytes.view())) : "unknown";
}

}  // namespace

BuildContext ThisBuild() {
  return {DRYRIG_VERSION, DRYRIG_GIT, kCompiler, DRYRIG_BULLET, DRYRIG_BUILD_TYPE, ProgramHash()};
}

nlohmann::ordered_json ToJson(const BuildContext& build) {
  return {{"version", build.version}, {"git", build.git},          {"compiler", build.compiler},
          {"bullet", build.bullet},   {"build", build.build_type}, {"program", build.program}};
}

BuildContext ReadBuildContext(const std::string& json) {
  const auto parsed = nlohmann::json::parse(json, nullptr, false);
  if (!parsed.is_object()) return {};
  const auto text = [&parsed](const char* key) { return parsed.value(key, std::string()); };
  return {text("version"), text("git"), text("compiler"), text("bullet"), text("build"), text("program")};
}

std::string ToLine(const BuildContext& build) {
  return fmt::format("dryrig {} ({}), {}, Bullet {}, {}", build.version, build.git, build.compiler, build.bullet,
                     build.build_type);
}

}  // namespace dryrig
