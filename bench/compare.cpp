#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <thread>

#include "bench/comparison.h"
#include "bench/context.h"
#include "bench/filming.h"
#include "bench/grid.h"
#include "bench/out_folder.h"
#include "bench/outside_options.h"
#include "bench/paired.h"
#include "bench/param_file.h"
#include "bench/pictures.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "bench/sensitivity.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

struct CompareOptions {
  Suite grid;            // what the options cross
  int seeds = 1;         // 1 to N
  bool crossed = false;  // options beside the lessons say what to cross
  std::vector<std::string> package_paths;
  OutsideChoice outside;
  std::vector<std::string> params;  // files
  std::string out, shard;
  int jobs = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  double floor = kVisibilityFloor;
  bool keep_series = false, json = false, force = false, quiet = false, all_metrics = false, by_lesson = false, sheets = false;
};

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
                    const std::vector<PairedComparison>& primary, const std::vector<Ranking>& rankings, double floor) {
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
  for (const Ranking& ranking : rankings) out["rankings_by_other_keys"].push_back(ToJson(ranking));
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
  if (options.grid.policies.empty())
    throw InputError("lessons need policies to compare; name at least one with --policy or --params");
  Suite suite = options.grid;
  suite.seeds.clear();
  for (int seed = 1; seed <= options.seeds; ++seed) suite.seeds.push_back(static_cast<uint64_t>(seed));
  return suite;
}

/// All that the suite names.
std::vector<std::string> PoliciesOf(const Suite& suite) {
  std::vector<std::string> out = suite.policies;
  for (const SuiteRule& rule : suite.include) {
    if (rule.policy) out.push_back(*rule.policy);
  }
  return out;
}

int RunCompare(CompareOptions options) {
  options.outside.Load({});
  for (const std::string& file : options.params) {
    const std::string policy = Spelled(ReadParamFile(file, options.outside));
    options.grid.policies.push_back(policy);
  }
  const Suite suite = ChooseSuite(options);
  options.outside.LoadPython(PoliciesOf(suite));
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
  const FilmingOptions filming{options.out, options.jobs, options.keep_series, options.force, options.quiet, suite.variants};
  const std::unique_ptr<Store> store = OpenResults(out, grid, filming);
  std::optional<LessonSheets> sheets;
  if (options.sheets) sheets.emplace(grid);
  const std::vector<Failure> failures = FilmMissing(grid, filming, shelf, store.get(), sheets ? &*sheets : nullptr);

  std::vector<TakeScores> takes;
  std::vector<std::vector<VariantScore>> variants;
  for (const GridTake& take : grid) {
    const auto id = store->FindTake(take.id);
    if (!id) continue;
    takes.push_back({take.id, store->ReadScores(*id)});
    variants.push_back(store->ReadVariants(*id));
  }
  out.Write("results.csv", ResultsCsv(takes));
  if (!suite.text.empty()) out.Write("suite.yaml", suite.text);
  const std::vector<PairedComparison> primary =
      options.shard.empty() ? ComparePrimary(takes, suite.primary) : std::vector<PairedComparison>{};
  const std::vector<Ranking> rankings = options.shard.empty() ? CompareRankings(takes, variants) : std::vector<Ranking>{};
  if (options.json) {
    fmt::print("{}\n", ComparisonJson(takes, failures, primary, rankings, options.floor).dump(2));
  } else {
    PrintTables(takes, options);
    if (!primary.empty()) fmt::print("What the suite set out to compare\n{}\n", ToText(primary));
    if (!rankings.empty()) fmt::print("Is the ranking the policies' or the scoring key's?\n{}\n", ToText(rankings));
    fmt::print("Results are in {}: results.csv has a row a take, results.db all of it.\n", out.path().string());
  }
  if (sheets) {
    for (const std::string& file : sheets->Write(*store, shelf, out.path(), options.quiet))
      fmt::print(options.json ? stderr : stdout, "Sheet: {}\n", (out.path() / file).string());
    if (!sheets->error().empty()) fmt::print(stderr, "dryrig: {}\n", sheets->error());
  }
  if (!options.json) fmt::print("{}\n", kCaution);
  if (failures.empty()) return sheets && !sheets->error().empty() ? kNotDone : kFine;
  fmt::print(stderr, "dryrig: {} of {} takes failed:\n", failures.size(), grid.size());
  for (const Failure& failure : failures) fmt::print(stderr, "  {}\n    {}\n", failure.command, failure.error);
  return kNotDone;
}

}  // namespace

void AddCompare(CommandTable& program) {
  auto options = std::make_shared<CompareOptions>();
  Suite& grid = options->grid;
  const Command command = program.Add("compare", "Film a grid of lessons, people and seeds with several policies; compare them.");
  std::vector<CommandOption> crossing;
  const auto each = [&](const char* name, std::vector<std::string>& values, const char* meaning) {
    crossing.push_back(command.Add(name, values, meaning));
  };
  command.Add("lessons", grid.lessons, "Lesson files or shipped lessons' names; or one suite, file or name").Required();
  each("--policy,-p", grid.policies,
       "Policy, also as NAME:key=value,key=value; NAME may be python:FILE.py:CLASS; may be repeated");
  each("--params", options->params, "File of a policy's parameters, as dryrig tune writes it, to compare too; may be repeated");
  each("--person", grid.people, "Person; may be repeated; default: each lesson's");
  each("--sensing", grid.sensings, "Sensing, also as NAME:key=value,key=value; may be repeated; default: good");
  each("--arm", grid.arms, "Arm; may be repeated; default: the first shipped");
  each("--bench", grid.benches, "Bench; may be repeated; default: each lesson's");
  each("--camera", grid.cameras, "Camera; may be repeated; default: the first prime shipped");
  crossing.push_back(
      command.Add("--seeds", options->seeds, "Takes of each kind, seeds 1 to N").Range(1, 1'000'000).ShowDefault());
  crossing.push_back(command.Add("--physics-hz", grid.physics_hz, "Physics rate").ShowDefault());
  options->outside.AddTo(command);
  command.Add("--package-path", options->package_paths, "Folder that package:// meshes are searched in; may be repeated");
  command.Add("--shard", options->shard, "Part k/n of the grid alone, to be merged with the others");
  command.Add("--jobs,-j", options->jobs, "Takes at a time; results do not depend on it").Range(1, 1024).ShowDefault();
  command.Add("--out,-o", options->out, "Folder for the results; nothing is written elsewhere").Required();
  command.Add("--floor", options->floor, "Least hand_visibility of a policy that may be marked").Range(0.0, 1.0).ShowDefault();
  command.Flag("--by-lesson", options->by_lesson, "A table for each lesson too");
  command.Flag("--all-metrics", options->all_metrics, "Every metric, not the card's alone");
  command.Flag("--sheets", options->sheets, "Draw sheet-LESSON.png for each lesson: the same moments by every policy");
  command.Flag("--keep-series", options->keep_series, "Keep every take whole (some 20 MB a minute), for score and export");
  command.Flag("--json", options->json, "Print the comparison as JSON");
  command.Flag("--quiet,-q", options->quiet, "No progress");
  command.Flag("--force", options->force, "Begin anew where results in --out cannot be gone on with");
  command.Footer(
      "Takes that --out holds already are not run again, so an interrupted comparison goes on where it stopped. Those whose "
      "lesson,\n"
      "person or other file has changed, or whose policy's or simulator's code has, are filmed anew, and no others.\n"
      "Examples:\n"
      "  dryrig compare smoke --out out/smoke                  a suite: a grid in a file, scenes/suites/smoke.yaml\n"
      "  dryrig compare booklet --policy tripod --policy planner --out out/two\n"
      "  dryrig compare booklet seedling --policy planner --policy planner:smoothness=2 --person avery --person ellis \\\n"
      "      --sensing good --sensing poor --seeds 5 --jobs 8 --out out/three");
  command.Run([options, crossing] {
    options->crossed = std::any_of(crossing.begin(), crossing.end(), [](const CommandOption& option) { return option.given(); });
    return RunCompare(*options);
  });
}

}  // namespace dryrig
