#pragma once

#include <functional>
#include <string>
#include <vector>

#include "metrics/metric.h"
#include "policies/choice.h"
#include "scenes/suite.h"

namespace dryrig {

/// A take of a grid; `policy` as the grid spells it, `NAME` or `NAME:key=value,...`.
struct GridTake {
  TakeChoice choice;
  TakeIdentity id;
  std::string policy;
  size_t place = 0;          // in the whole grid, of which a shard is a part
  bool keep_series = false;  // a rule of the suite says so
};

/// The grid that a command line's options make, as a suite without rules.
Suite SuiteOf(const std::vector<std::string>& lessons, const std::vector<std::string>& policies);

/// Every take of the suite, defaults filled in, in the order lesson, arm, bench, camera, person, sensing, seed, policy; then
/// what its `include` adds, in that order for each rule. @throws InputError if any part is bad, two takes of the grid are the
/// same, a rule names what the suite does not hold, or a person cannot perform a lesson.
std::vector<GridTake> MakeGrid(const Suite& suite, SceneShelf& shelf);

/// Shard k of n, 1-based: every n-th take from the k-th on. Together the shards are the grid.
struct Shard {
  int k = 1, n = 1;
};
/// `k/n`. @throws InputError.
Shard ParseShard(const std::string& text);
std::vector<GridTake> TakesOf(const Shard& shard, std::vector<GridTake> grid);

/// A take that has run, or why it did not.
struct RanTake {
  size_t index = 0;
  Take take;
  std::vector<StoredScore> scores;
  std::vector<VariantScore> variants;
  std::vector<StoredInput> inputs;
  std::string error;  // empty: it ran
};

/// Runs takes[i] for each i of `which` on `jobs` threads, each in a world of its own. `done` is called on the caller's thread,
/// one take at a time, in the order in which they finish. What a take throws is its `error`; what `done` throws stops the work.
/// Takes of deployable policies are scored by each of `variants` too.
void RunGrid(const std::vector<GridTake>& takes, const std::vector<size_t>& which, int jobs, SceneShelf& shelf,
             const std::function<void(RanTake)>& done, const std::vector<SuiteVariant>& variants = {});

}  // namespace dryrig
