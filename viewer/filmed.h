#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "metrics/metric.h"
#include "policies/choice.h"
#include "sim/policy.h"
#include "sim/run.h"
#include "sim/take.h"
#include "viewer/moment.h"

namespace dryrig {

/// What a take is filmed from: everything but the policy, and the policy with the parameters that differ from its defaults.
struct Recipe {
  TakeSetup setup;
  PolicyChoice policy;
  std::string lesson;  // as it was named: a path or a shipped name
};

/// A take ready to be shown. Nothing of it changes any more.
struct FilmedTake {
  Take take;
  Scorecard card;                        // no scores: only the first moments, to have something to look at
  std::vector<ChosenRun> chosen;         // on the time line
  std::vector<HeardSentence> heard;      // as the policy got them, to the end
  std::string source;                    // what was opened, for people
  std::shared_ptr<const Recipe> recipe;  // null: it cannot be filmed again, and why_not says why
  std::string why_not;

  bool preview() const { return card.scores.empty(); }
  double length_s() const;  // time of the last frame
};

/// @throws InputError as Prepare has it.
Recipe MakeRecipe(const TakeChoice& choice);

/// Films and scores. `max_s` 0: the whole lesson; else only so much of it, unscored. @throws as RunTake and ScoreTake do.
FilmedTake Film(std::shared_ptr<const Recipe> recipe, double max_s, const TakeProgress& progress);

/// A stored take: read, if its series were kept, else filmed again from the inputs stored with it.
/// @throws InputError if those no longer make the same take.
FilmedTake OpenStored(const std::filesystem::path& db, int64_t id, const TakeProgress& progress);

/// The recipe of a stored take. @throws InputError naming what is missing or has changed since.
Recipe RecipeOfStored(const Store& store, int64_t id);

}  // namespace dryrig
