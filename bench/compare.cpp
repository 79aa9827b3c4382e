#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <thread>

#include "bench/comparison.h"
#include "bench/context.h"
#include "bench/grid.h"
#include "bench/out_folder.h"
#include "bench/paired.h"
#include "bench/pictures.h"
#include "bench/program.h"
#include "bench/progress.h"
#include "bench/scorecard.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

/// Beyond this a results.db is left in the order of writing: rewriting it would take longer than its order is worth.
constexpr uintmax_t kCompactBelowBytes = 256u << 20;
/// Ids up to here are places in a grid; a take whose place another grid's take has comes after.
constexpr int64_t kMostPlaces = 1'000'000;

struct CompareOptions {
  Suite grid;            // what the options cross
  int seeds = 1;         // 1 to N
  bool crossed = false;  // options beside the lessons say what to cross
  std::vector<std::string> package_paths;
  std::string out, shard;
  int jobs = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  double floor = kVisibilityFloor;
  bool keep_series = false, json = false, force = false, quiet = false, all_metrics = false, by_lesson = false, sheets = false;
};

/// Why the results in a store cannot be gone on with; empty: they can.
std::string WhyNotResume(const Store& store, const std::vector<GridTake>& grid, bool keep_series) {
  const BuildContext theirs = ReadBuildContext(store.ReadContext());
  if (!(theirs == ThisBuild())) return fmt::format("were made by another build, {}", ToLine(theirs));
  for (const GridTake& take : grid) {
    const auto id = store.FindTake(take.id);
    if (id && keep_series && !store.HasSeries(*id)) return "hold takes without their series";
  }
  return "";
}

/// Opens results.db to go on with, or begins it. Nothing is lost without --force.
std::unique_ptr<Store> OpenStore(const OutFolder& out, const std::vector<GridTake>& grid, const CompareOptions& options) {
  if (fs::exists(out.Database())) {
    auto store = std::make_unique<Store>(out.Database(), Store::Mode::kAppend);
    const std::string reason = WhyNotResume(*store, grid, options.keep_series);
    if (reason.empty()) return store;
    if (!options.force) {
      throw InputError(
          fmt::format("the results in {} {}; choose another --out, or --force to begin anew", out.path().string(), reason));
    }
    fmt::print(stderr, "dryrig: the results in {} {}; beginning anew\n", out.path().string(), reason);
    store.reset();
    out.RemoveResults();
  }
  auto store = std::make_unique<Store>(out.Database(), Store::Mode::kCreate);
  store->WriteContext(ToJson(ThisBuild()).dump());
  return store;
}

/// An id for every take of the grid, the same whatever the order of finishing and the shard: its place in the whole grid, or
/// where another take has that id, one beyond all.
std::vector<int64_t> ChooseIds(const Store& store, const std::vector<GridTake>& grid) {
  const std::vector<int64_t> ids = store.TakeIds();
  const std::set<int64_t> used(ids.begin(), ids.end());
  int64_t beyond = std::max(kMostPlaces, ids.empty() ? 0 : ids.back());
  std::vector<int64_t> out;
  for (size_t i = 0; i < grid.size(); ++i) {
    const auto place = static_cast<int64_t>(grid[i].place) + 1;
    if (const auto there = store.FindTake(grid[i].id))
      out.push_back(*there);
    else
      out.push_back(used.contains(place) ? ++beyond : place);
  }
  return out;
}

struct Failure {
  size_t index;
  std::string command, error;
};

/// Runs what the store does not hold yet; returns what failed, in grid order. `sheets`, if any, sees each take as it finishes.
std::vector<Failure> RunMissing(const std::vector<GridTake>& grid, const CompareOptions& options, SceneShelf& shelf, Store* store,
                                LessonSheets* sheets) {
  const std::vector<int64_t> ids = ChooseIds(*store, grid);
  std::vector<size_t> missing;
  for (size_t i = 0; i < grid.size(); ++i) {
    if (!store->FindTake(grid[i].id)) missing.push_back(i);
  }
  if (missing.size() < grid.size()) {
    fmt::print(stderr, "dryrig: resuming: {} of {} takes are there already\n", grid.size() - missing.size(), grid.size());
  }
  std::vector<Failure> failures;
  Progress progress(missing.size(), options.quiet || missing.empty());
  RunGrid(grid, missing, options.jobs, shelf, [&](const RanTake& ran) {
    const GridTake& take = grid[ran.index];
    if (ran.error.empty()) {
      store->Together([&] {
        const int64_t id = store->WriteTake(ran.take, options.keep_series, ids[ran.index]);
        store->WriteInputs(id, ran.inputs);
        store->WriteScores(id, ran.scores);
      });
      if (sheets != nullptr) sheets->Film(ran.index, ran.take);
    } else {
      failures.push_back({ran.index, CommandFor(take.choice, options.out + "/failed"), ran.error});
      progress.Say(fmt::format("dryrig: a take failed: {}\n  {}", ran.error, failures.back().command));
    }
    progress.Done(fmt::format("{} by {} with {}", take.id.lesson, take.id.policy, take.id.person));
  });
  progress.Finish();
  if (!missing.empty() && fs::file_size(fs::path(options.out) / "results.db") < kCompactBelowBytes) store->Compact();
  std::sort(failures.begin(), failures.end(), [](const Failure& a, const Failure& b) { return a.index < b.index; });
  return failures;
}

/// Takes that one table may compare: one arm and one sensing. In grid order.
struct Group {
  std::string arm, sensing;
  std::vector<TakeScores> takes;
};
std::vector<Group> GroupTakes(const std::vector<TakeScores>& takes) {
  std::vector<Group> groups;
  for (const TakeScores& take : takes) {
    auto it = std::find_if(groups.begin(), groups.end(),
                           [&](const Group& g) { return g.arm == take.id.arm && g.sensing == take.id.sensing; });
    if (it == groups.end()) it = groups.insert(groups.end(), {take.id.arm, take.id.sensing, {}});
    it->takes.push_back(take);
  }
  return groups;
}

std::vector<PolicySummary> SummariseGroup(const std::vector<TakeScores>& takes, double floor) {
  std::vector<PolicySummary> summary = Summarise(takes);
  MarkUnbeaten(&summary, floor);
  return summary;
}

void PrintTables(const std::vector<TakeScores>& takes, const CompareOptions& options) {
  for (const Group& group : GroupTakes(takes)) {
    std::set<std::string> lessons, people;
    std::set<uint64_t> seeds;
    for (const TakeScores& take : group.takes) {
      lessons.insert(take.id.lesson);
      people.insert(take.id.person);
      seeds.insert(take.id.seed);
    }
    fmt::print("Arm {}, sensing {}: lessons {}; people {}; {} seed{}\n\n", group.arm, group.sensing, fmt::join(lessons, ", "),
               fmt::join(people, ", "), seeds.size(), seeds.size() == 1 ? "" : "s");
    const std::vector<PolicySummary> summary = SummariseGroup(group.takes, options.floor);
    fmt::print("{}\n", SummaryTable(summary));
    if (options.by_lesson) {
      for (const std::string& lesson : lessons) {
        std::vector<TakeScores> of_lesson;
        for (const TakeScores& take : group.takes) {
          if (take.id.lesson == lesson) of_lesson.push_back(take);
        }
        fmt::print("Lesson {}\n{}\n", lesson, SummaryTable(SummariseGroup(of_lesson, options.floor)));
      }
    }
    if (options.all_metrics) fmt::print("{}\n", FullTable(summary));
  }
  fmt::print("{}\n", SummaryLegend(options.floor));
}

Json ComparisonJson(const std::vector<TakeScores>& takes, const std::vector<Failure>& failures,
                    const std::vector<PairedComparison>& primary, double floor) {
  Json out{{"dryrig", "comparison/1"}, {"context", ToJson(ThisBuild())}, {"visibility_floor", floor}};
  out["takes"] = Json::array();
  for (const TakeScores& take : takes) {
    Json one = ToJson(take.id);
    for (const StoredScore& score : take.scores)
      one["scores"][score.metric] = score.value ? Json(*score.value + 0.0) : Json(nullptr);
    out["takes"].push_back(one);
  }
  out["groups"] = Json::array();
  for (const Group& group : GroupTakes(takes)) {
    Json one{{"arm", group.arm}, {"sensing", group.sensing}};
    for (const PolicySummary& policy : SummariseGroup(group.takes, floor)) one["policies"].push_back(ToJson(policy));
    out["groups"].push_back(one);
  }
  for (const PairedComparison& one : primary) out["primary"].push_back(ToJson(one));
  out["failed"] = Json::array();
  for (const Failure& failure : failures) out["failed"].push_back({{"command", failure.command}, {"error", failure.error}});
  out["caution"] = kCaution;
  return out;
}

/// The suite that the one positional argument names, if it does.
std::optional<Suite> NamedSuite(const std::vector<std::string>& lessons) {
  if (lessons.size() != 1) return std::nullopt;
  const std::string& what = lessons.front();
  const std::vector<std::string> suites = ListScenes(SceneKind::kSuite), shipped = ListScenes(SceneKind::kLesson);
  const auto has = [&what](const std::vector<std::string>& names) {
    return std::find(names.begin(), names.end(), what) != names.end();
  };
  if (fs::is_regular_file(what)) {
    const std::string text = ReadTextFile(what);
    if (("\n" + text).find("\ndryrig: suite/") == std::string::npos) return std::nullopt;
    return ParseSuite(text, what);
  }
  if (!has(suites) || has(shipped)) return std::nullopt;
  return ReadSuite(FindScene(SceneKind::kSuite, what));
}

/// What is to be filmed: a suite as its file has it, or what the options cross.
Suite ChooseSuite(const CompareOptions& options) {
  if (std::optional<Suite> suite = NamedSuite(options.grid.lessons)) {
    if (options.crossed) {
      throw InputError(
          fmt::format("suite {} says itself what it crosses; leave --policy, --person, --sensing, --arm, --bench, "
                      "--camera, --seeds and --physics-hz out, or name lessons",
                      suite->name));
    }
    return *suite;
  }
  if (options.grid.policies.empty()) throw InputError("lessons need policies to compare; name at least one with --policy");
  Suite suite = options.grid;
  suite.seeds.clear();
  for (int seed = 1; seed <= options.seeds; ++seed) suite.seeds.push_back(static_cast<uint64_t>(seed));
  return suite;
}

int RunCompare(const CompareOptions& options) {
  const Suite suite = ChooseSuite(options);
  SceneShelf shelf({{options.package_paths.begin(), options.package_paths.end()}});
  std::vector<GridTake> grid = MakeGrid(suite, shelf);
  for (const PrimaryComparison& primary : suite.primary) FindMetric(primary.metric);
  for (const HardLimit& limit : suite.limits) FindMetric(limit.metric);
  if (!options.shard.empty()) grid = TakesOf(ParseShard(options.shard), std::move(grid));
  OutFolder out(options.out);
  std::set<std::string> arms;
  for (const GridTake& take : grid) {
    if (!arms.insert(take.choice.arm).second) continue;
    for (const std::string& note : shelf.GetArm(take.choice.arm).notes)
      fmt::print(stderr, "note: arm {}: {}\n", take.id.arm, note);
  }
  out.Open();
  const std::unique_ptr<Store> store = OpenStore(out, grid, options);
  std::optional<LessonSheets> sheets;
  if (options.sheets) sheets.emplace(grid);
  const std::vector<Failure> failures = RunMissing(grid, options, shelf, store.get(), sheets ? &*sheets : nullptr);

  std::vector<TakeScores> takes;
  for (const GridTake& take : grid) {
    if (const auto id = store->FindTake(take.id)) takes.push_back({take.id, store->ReadScores(*id)});
  }
  out.Write("results.csv", ResultsCsv(takes));
  if (!suite.text.empty()) out.Write("suite.yaml", suite.text);
  const std::vector<PairedComparison> primary =
      options.shard.empty() ? ComparePrimary(takes, suite.primary) : std::vector<PairedComparison>{};
  if (options.json) {
    fmt::print("{}\n", ComparisonJson(takes, failures, primary, options.floor).dump(2));
  } else {
    PrintTables(takes, options);
    if (!primary.empty()) fmt::print("What the suite set out to compare\n{}\n", ToText(primary));
    fmt::print("Results are in {}: results.csv has a row a take, results.db all of it.\n{}\n", out.path().string(), kCaution);
  }
  if (sheets) {
    for (const std::string& file : sheets->Write(*store, shelf, out.path(), options.quiet))
      fmt::print(options.json ? stderr : stdout, "Sheet: {}\n", (out.path() / file).string());
    if (!sheets->error().empty()) fmt::print(stderr, "dryrig: {}\n", sheets->error());
  }
  if (failures.empty()) return sheets && !sheets->error().empty() ? kNotDone : kFine;
  fmt::print(stderr, "dryrig: {} of {} takes failed:\n", failures.size(), grid.size());
  for (const Failure& failure : failures) fmt::print(stderr, "  {}\n    {}\n", failure.command, failure.error);
  return kNotDone;
}

}  // namespace

void AddCompare(CLI::App& program, int* exit_code) {
  auto options = std::make_shared<CompareOptions>();
  Suite& grid = options->grid;
  CLI::App* command =
      program.add_subcommand("compare", "Film a grid of lessons, people and seeds with several policies; compare them.");
  std::vector<CLI::Option*> crossing;
  const auto each = [&](const char* name, std::vector<std::string>& values, const char* meaning) {
    crossing.push_back(command->add_option(name, values, meaning)->allow_extra_args(false));
  };
  command->add_option("lessons", grid.lessons, "Lesson files or shipped lessons' names; or one suite, file or name")->required();
  each("--policy,-p", grid.policies, "Policy, also as NAME:key=value,key=value; may be repeated");
  each("--person", grid.people, "Person; may be repeated; default: each lesson's");
  each("--sensing", grid.sensings, "Sensing; may be repeated; default: good");
  each("--arm", grid.arms, "Arm; may be repeated; default: the first shipped");
  each("--bench", grid.benches, "Bench; may be repeated; default: each lesson's");
  each("--camera", grid.cameras, "Camera; may be repeated; default: the first prime shipped");
  crossing.push_back(command->add_option("--seeds", options->seeds, "Takes of each kind, seeds 1 to N")
                         ->check(CLI::Range(1, 1'000'000))
                         ->capture_default_str());
  crossing.push_back(command->add_option("--physics-hz", grid.physics_hz, "Physics rate")->capture_default_str());
  command->add_option("--package-path", options->package_paths, "Folder that package:// meshes are searched in; may be repeated")
      ->allow_extra_args(false);
  command->add_option("--shard", options->shard, "Part k/n of the grid alone, to be merged with the others");
  command->add_option("--jobs,-j", options->jobs, "Takes at a time; results do not depend on it")
      ->check(CLI::Range(1, 1024))
      ->capture_default_str();
  command->add_option("--out,-o", options->out, "Folder for the results; nothing is written elsewhere")->required();
  command->add_option("--floor", options->floor, "Least hand_visibility of a policy that may be marked")
      ->check(CLI::Range(0.0, 1.0))
      ->capture_default_str();
  command->add_flag("--by-lesson", options->by_lesson, "A table for each lesson too");
  command->add_flag("--all-metrics", options->all_metrics, "Every metric, not the card's alone");
  command->add_flag("--sheets", options->sheets, "Draw sheet-LESSON.png for each lesson: the same moments by every policy");
  command->add_flag("--keep-series", options->keep_series, "Keep every take whole (some 20 MB a minute), for score and export");
  command->add_flag("--json", options->json, "Print the comparison as JSON");
  command->add_flag("--quiet,-q", options->quiet, "No progress");
  command->add_flag("--force", options->force, "Begin anew where results in --out cannot be gone on with");
  command->footer(
      "Takes that --out holds already are not run again, so an interrupted comparison goes on where it stopped.\n"
      "Examples:\n"
      "  dryrig compare smoke --out out/smoke                  a suite: a grid in a file, scenes/suites/smoke.yaml\n"
      "  dryrig compare booklet --policy tripod --policy planner --out out/two\n"
      "  dryrig compare booklet seedling --policy planner --policy planner:smoothness=2 --person avery --person ellis \\\n"
      "      --sensing good --sensing poor --seeds 5 --jobs 8 --out out/three");
  command->callback([options, exit_code, crossing] {
    options->crossed =
        std::any_of(crossing.begin(), crossing.end(), [](const CLI::Option* option) { return option->count() > 0; });
    *exit_code = RunCompare(*options);
  });
}

}  // namespace dryrig
