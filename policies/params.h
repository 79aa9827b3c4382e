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

/// Config with `values` set. @throws InputError for an unknown key (with the nearest) or a value outside its range.
template <class Config>
Config MakeConfig(const ParamValues& values) {
  Config config;
  std::vector<std::string> known;
  size_t used = 0;
  config.Visit([&](const char* name, const char* unit, double& value, double lo, double hi, const char*) {
    known.push_back(name);
    const auto it = values.find(name);
    if (it == values.end()) return;
    ++used;
    if (!(it->second >= lo && it->second <= hi)) {
      throw InputError(fmt::format("parameter {}: {} is outside [{}, {}] {}", name, it->second, lo, hi, unit));
    }
    value = it->second;
  });
  if (used != values.size()) {
    for (const auto& [key, value] : values) {
      if (std::find(known.begin(), known.end(), key) == known.end()) {
        throw InputError(fmt::format("parameter \"{}\" = {}: no such parameter{}", key, value, Suggest(key, known)));
      }
    }
  }
  return config;
}

}  // namespace dryrig
