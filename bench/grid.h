#pragma once

#include <functional>
#include <string>
#include <vector>

#include "metrics/metric.h"
#include "policies/choice.h"

namespace dryrig {

/// What `compare` crosses; an empty list stands for the default.
struct GridChoice {
  std::vector<std::string> lessons, arms, people, sensings;
  std::vector<PolicyChoice> policies;
  std::string bench, camera;
  int seeds = 1;
  double physics_hz = 240;
};

/// Every take of the grid, defaults filled in, in the order lesson, arm, person, sensing, seed, policy.
/// @throws InputError if any part is bad, two takes are the same, or a person cannot perform a lesson.
struct GridTake {
  TakeChoice choice;
  TakeIdentity id;
};
std::vector<GridTake> MakeGrid(const GridChoice& choice, SceneShelf& shelf);

/// A take that has run, or why it did not.
struct RanTake {
  size_t index = 0;
  Take take;
  std::vector<StoredScore> scores;
  std::vector<StoredInput> inputs;
  std::string error;  // empty: it ran
};

/// Runs takes[i] for each i of `which` on `jobs` threads, each in a world of its own. `done` is called on the caller's thread,
/// one take at a time, in the order in which they finish. What a take throws is its `error`; what `done` throws stops the work.
void RunGrid(const std::vector<GridTake>& takes, const std::vector<size_t>& which, int jobs, SceneShelf& shelf,
             const std::function<void(RanTake)>& done);

}  // namespace dryrig
