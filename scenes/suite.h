#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace dryrig {

/// Names takes of a suite: every part given must be equal.
struct SuiteRule {
  std::optional<std::string> lesson, policy, arm, bench, camera, person, sensing;
  std::optional<uint64_t> seed;
};

/// A comparison that the suite names before anything is filmed.
struct PrimaryComparison {
  std::string metric, policy, against;
};

/// A bound that no take of the policies (none named: of any) may break; in the metric's unit.
struct HardLimit {
  std::string metric;
  std::optional<double> at_least, at_most;
  std::vector<std::string> policies;
};

/// Another key to score by: is a ranking the policies' or the key's? Takes are scored by it again, not filmed again.
struct SuiteVariant {
  double shift_s = 0;     // every intent so much later
  int size_steps = 0;     // every shot so many sizes closer
  double tolerances = 1;  // of composition, size and angle, times this
  bool operator==(const SuiteVariant&) const = default;
};
/// `intents 0.5 s later, one size closer, tolerances x 2`: what is changed, the same words for the same change.
std::string ToString(const SuiteVariant& variant);

/// A grid of takes as a file names it. Names are not looked up by the reader; an empty list stands for the default. Policies
/// and sensings are `NAME` or `NAME:key=value,...`.
struct Suite {
  std::string name, title;
  std::vector<std::string> lessons, policies, arms, benches, cameras, people, sensings;
  std::vector<uint64_t> seeds{1};
  double physics_hz = 240;
  std::vector<SuiteRule> exclude;  // takes of the grid that are left out
  std::vector<SuiteRule> include;  // takes beyond the grid; what a rule leaves open is crossed as in the grid
  std::vector<PrimaryComparison> primary;
  std::vector<HardLimit> limits;
  std::vector<SuiteRule> keep_series;  // takes that are kept whole
  std::vector<SuiteVariant> variants;
  std::string text;
};

/// @throws InputError (file:line:column).
Suite ReadSuite(const std::filesystem::path& file);
Suite ParseSuite(const std::string& text, const std::string& file_name);

}  // namespace dryrig
