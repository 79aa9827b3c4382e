#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "scenes/error.h"
#include "sim/policy.h"

namespace dryrig {

/// A policy's config is a plain struct with one visitor:
///   struct FollowConfig { double dead_band = 0.05;
///     void Visit(auto&& v) { v("dead_band", "frame heights", dead_band, 0, 0.5, "error below which the camera rests"); } };
template <class Config>
std::vector<ParamInfo> DescribeParams() {
  std::vector<ParamInfo> out;
  Config config;
  config.Visit([&](const char* name, const char* unit, double& value, double lo, double hi, const char* meaning) {
    out.push_back({name, unit, value, lo, hi, meaning});
  });
  return out;
}

/// @throws InputError for an unknown key (with the nearest) or a value outside its range.
inline void RequireKnown(const std::vector<ParamInfo>& params, const ParamValues& values) {
  std::vector<std::string> known;
  for (const ParamInfo& info : params) known.push_back(info.name);
  for (const auto& [key, value] : values) {
    const auto it = std::find(known.begin(), known.end(), key);
    if (it == known.end()) {
      throw InputError(fmt::format("parameter \"{}\" = {}: no such parameter{}", key, value, Suggest(key, known)));
    }
    const ParamInfo& info = params[static_cast<size_t>(it - known.begin())];
    if (!(value >= info.lo && value <= info.hi)) {
      throw InputError(fmt::format("parameter {}: {} is outside [{}, {}] {}", key, value, info.lo, info.hi, info.unit));
    }
  }
}

/// Config with `values` set. @throws InputError for an unknown key (with the nearest) or a value outside its range.
template <class Config>
Config MakeConfig(const ParamValues& values) {
  RequireKnown(DescribeParams<Config>(), values);
  Config config;
  config.Visit([&](const char* name, const char*, double& value, double, double, const char*) {
    if (const auto it = values.find(name); it != values.end()) value = it->second;
  });
  return config;
}

}  // namespace dryrig
