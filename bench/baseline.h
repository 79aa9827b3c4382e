#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "bench/comparison.h"

namespace dryrig {

/// One accepted take: which, and what it scored.
struct BaselineTake {
  std::string lesson, policy, arm, bench, camera, person, sensing;  // policy as PolicyLabels spells it
  uint64_t seed = 0;
  double physics_hz = 0;
  std::string inputs_hash;
  std::vector<std::optional<double>> values;  // by Baseline::metrics

  /// `booklet by planner with avery, sensing good, seed 1 ...`: equal for the same take, whatever it scored.
  std::string Key() const;
};

/// Accepted results, with who accepted them why: a small text file, a line a take, to be kept under version control.
struct Baseline {
  std::string suite, reason;
  std::string context;  // JSON of the build that made it
  std::vector<std::string> metrics;
  std::vector<BaselineTake> takes;  // sorted by key
};

Baseline MakeBaseline(const std::vector<TakeScores>& takes, const std::string& suite, const std::string& reason,
                      const std::string& context);
/// Values with nine significant digits.
std::string ToText(const Baseline& baseline);
/// @throws InputError naming file and what is wrong.
Baseline ParseBaseline(const std::string& text, const std::string& file_name);

}  // namespace dryrig
