#include "viewer/filmed.h"

#include <fmt/format.h>

#include <sstream>

#include "scenes/error.h"
#include "sim/rng.h"
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

std::string TextOf(const std::vector<StoredInput>& inputs, std::string_view kind) {
  for (const StoredInput& input : inputs) {
    if (input.kind == kind) return input.text;
  }
  throw InputError(fmt::format("the store has no {} for this take", kind));
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
  return {std::move(prepared.setup), choice.policy, choice.lesson};
}

FilmedTake Film(std::shared_ptr<const Recipe> recipe, double max_s, const TakeProgress& progress) {
  const PolicyEntry& entry = FindPolicy(recipe->policy.name);
  const std::unique_ptr<Policy> policy = entry.make(recipe->policy.values);
  TakeSetup setup = recipe->setup;
  setup.policy = std::string(entry.name);
  setup.params = AllParams(entry, recipe->policy.values);
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
  const TakeIdentity identity = store.ReadIdentity(id);
  const std::vector<StoredInput> inputs = store.ReadInputs(id);
  const auto text = [&](SceneKind kind) { return TextOf(inputs, ToString(kind)); };
  Recipe out;
  out.policy.name = identity.policy;
  out.lesson = identity.lesson;
  std::istringstream params(identity.params);
  for (std::string param; params >> param;) ParseParam(param, &out.policy.values);
  TakeSetup& setup = out.setup;
  setup.lesson = ParseLesson(text(SceneKind::kLesson), identity.lesson + ".yaml",
                             [&](const std::string& kind, const std::string&) { return TextOf(inputs, kind); });
  const Bench bench = ParseBench(text(SceneKind::kBench), identity.bench + ".yaml");
  const CameraBody camera = ParseCamera(text(SceneKind::kCamera), identity.camera + ".yaml");
  setup.person = ParsePerson(text(SceneKind::kPerson), identity.person + ".yaml");
  setup.sensing = ParseSensing(text(SceneKind::kSensing), identity.sensing + ".yaml");
  const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, identity.arm));
  if (arm.text != text(SceneKind::kArm)) {
    throw InputError(fmt::format("arm {} is no longer the one that this take was filmed with", identity.arm));
  }
  setup.stage = MakeStage(bench, arm, camera);
  setup.seed = identity.seed;
  setup.physics_hz = identity.physics_hz;
  setup.control_hz = identity.control_hz;
  setup.policy = identity.policy;
  setup.params = identity.params;
  if (IdentityOf(setup).inputs_hash != identity.inputs_hash) {
    throw InputError("its stored inputs do not add up to the take that was filmed (thinking time or length differ)");
  }
  FindPolicy(out.policy.name).make(out.policy.values);  // refuses what this build does not know
  return out;
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
