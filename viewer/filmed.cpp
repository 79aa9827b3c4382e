#include "viewer/filmed.h"

#include <fmt/format.h>

#include "policies/stored_take.h"
#include "scenes/error.h"
#include "sim/sensing.h"

namespace dryrig {

namespace {

std::vector<HeardSentence> HeardIn(const TakeSetup& setup) {
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  Sensors sensors(setup.sensing, setup.lesson, setup.stage.bench, performance, setup.seed);
  constexpr double kLongAfter_s = 3600;  // past the end and the longest delay
  sensors.Sense(performance.duration_s() + kLongAfter_s);
  return {sensors.heard().begin(), sensors.heard().end()};
}

void Finish(FilmedTake* filmed) {
  filmed->chosen = ChosenRuns(filmed->take);
  if (filmed->recipe) filmed->heard = HeardIn(filmed->recipe->setup);
}

}  // namespace

double FilmedTake::length_s() const {
  return take.frames.empty() ? 0 : static_cast<double>(take.frames.size() - 1) / take.id.frame_hz;
}

Recipe MakeRecipe(const TakeChoice& choice) {
  SceneShelf shelf;  // of its own: a file that was mended since is read anew
  PreparedTake prepared = Prepare(WithDefaults(choice, shelf), shelf);
  return {std::move(prepared.setup), {choice.policy.name, prepared.values}, choice.lesson};
}

FilmedTake Film(std::shared_ptr<const Recipe> recipe, double max_s, const TakeProgress& progress) {
  const PolicyEntry& entry = FindPolicy(recipe->policy.name);
  const std::unique_ptr<Policy> policy = entry.make(recipe->policy.values);
  TakeSetup setup = recipe->setup;
  setup.policy = std::string(entry.name);
  setup.params = AllParams(entry, recipe->policy.values, setup);
  setup.max_s = max_s;
  FilmedTake out;
  out.take = RunTake(setup, *policy, progress);
  if (max_s == 0) out.card = ScoreTake(out.take);
  out.source = fmt::format("{} by {}", setup.lesson.name, setup.policy);
  out.recipe = std::move(recipe);
  Finish(&out);
  return out;
}

Recipe RecipeOfStored(const Store& store, int64_t id) {
  PreparedTake prepared = PrepareStored(store, id);
  if (prepared.policy == nullptr) throw InputError("the take was recorded on a set: no policy can film it again");
  return {
      std::move(prepared.setup), {std::string(prepared.policy->name), std::move(prepared.values)}, store.ReadIdentity(id).lesson};
}

FilmedTake OpenStored(const std::filesystem::path& db, int64_t id, const TakeProgress& progress) {
  const Store store(db, Store::Mode::kRead);
  const std::string source = fmt::format("{}:{}", db.string(), id);
  if (!store.HasSeries(id)) {
    FilmedTake out = Film(std::make_shared<const Recipe>(RecipeOfStored(store, id)), 0, progress);
    out.source = source + ", filmed again";
    return out;
  }
  FilmedTake out;
  out.take = store.ReadTake(id);
  if (out.take.frames.empty() || out.take.ticks.empty()) throw InputError(source + ": the take has no frames");
  out.card = ScoreTake(out.take);
  out.source = source;
  try {
    out.recipe = std::make_shared<const Recipe>(RecipeOfStored(store, id));
  } catch (const std::exception& error) {
    out.why_not = error.what();
  }
  Finish(&out);
  return out;
}

}  // namespace dryrig
