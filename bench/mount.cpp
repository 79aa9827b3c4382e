#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <thread>

#include "bench/comparison.h"
#include "bench/context.h"
#include "bench/filming.h"
#include "bench/grid.h"
#include "bench/mount_run.h"
#include "bench/program.h"
#include "bench/statistics.h"
#include "bench/text_table.h"
#include "scenes/error.h"
#include "scenes/yaml_node.h"
#include "sim/rng.h"

namespace dryrig {

namespace {

struct MountOptions {
  std::vector<std::string> lessons, lenses, people;
  std::string bench, arm, policy = "planner", out;
  double step_mm = 200, clearance_mm = 250;
  int confirm = 5, jobs = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  uint64_t seed = 1;
  bool quiet = false;
};

constexpr const char* kMountCaution =
    "Caution: this is a simulation, not a risk assessment. The robot's manual, the standards in force, local codes and a "
    "qualified\n"
    "person decide where an arm may stand. Views are tried one by one: the takes tell what a policy makes of a mount.";

/// The people of the options for a lesson: all shipped, those named, or the lesson's own.
std::vector<std::string> PeopleFor(const MountOptions& options, const std::string& own) {
  if (options.people.empty()) return {own};
  if (options.people.size() == 1 && options.people[0] == "all") return ListScenes(SceneKind::kPerson);
  return options.people;
}

/// One number a take, gathered by lesson and person; those without a value are left out.
struct Confirmed {
  size_t takes = 0;
  NestedValues framing;
  double framing_mean = 0, visible = 0, unreachable = 0, nearest_m = 1e9;
};
Confirmed Gathered(const std::vector<TakeScores>& takes) {
  Confirmed out;
  std::map<std::string, std::map<std::string, std::vector<double>>> framing;
  double visible = 0, unreachable = 0;
  for (const TakeScores& take : takes) {
    const auto value = [&](const char* metric) {
      const auto at =
          std::find_if(take.scores.begin(), take.scores.end(), [&](const StoredScore& s) { return s.metric == metric; });
      return at == take.scores.end() ? std::nullopt : at->value;
    };
    if (const auto error = value("framing_error")) framing[take.id.lesson][take.id.person].push_back(*error);
    visible += value("hand_visibility").value_or(0);
    unreachable += value("unreachable").value_or(0);
    out.nearest_m = std::min(out.nearest_m, value("closest_approach").value_or(1e9));
    ++out.takes;
  }
  for (auto& [lesson, people] : framing) {
    auto& into = out.framing.lessons.emplace_back();
    for (auto& [person, values] : people) into.push_back(values);
  }
  if (out.takes == 0) return out;
  out.visible = visible / static_cast<double>(out.takes);
  out.unreachable = unreachable / static_cast<double>(out.takes);
  if (!out.framing.empty()) out.framing_mean = NestedMean(out.framing);
  return out;
}

class MountCommand {
 public:
  explicit MountCommand(const MountOptions& options) : options_(options), out_(options.out) {}

  int Run() {
    Prepare();
    const std::vector<MountPlace> places = MountGrid(bench_, options_.step_mm / 1000);
    if (places.empty())
      throw InputError(fmt::format("bench {}: no free place for a mount; take a smaller --step-mm", bench_.name));
    out_.Open();
    MountRunOptions run{options_.clearance_mm / 1000, options_.jobs, options_.quiet, out_.path() / "tries.txt", key_};
    std::vector<RankedMount> mounts = TryMounts(places, casts_, run);
    Rank(&mounts);
    out_.Write("mounts.csv", MountCsv(mounts));
    out_.Write("mounts.svg", MountSvg(bench_, mounts,
                                      fmt::format("Where to mount {} at {}: {} lessons, nearest {} mm", options_.arm, bench_.name,
                                                  options_.lessons.size(), options_.clearance_mm)));
    fmt::print("{} mounts for arm {} at {}; {} views of {} lessons, no nearer than {} mm to the person\n\n{}\n", places.size(),
               options_.arm, bench_.name, mounts.front().score.views(), options_.lessons.size(), options_.clearance_mm,
               RankingTable(mounts, 10));
    if (options_.confirm > 0) Confirm(mounts);
    fmt::print("The whole ranking is in {0} (mounts.csv, mounts.svg), benches with the best mounts as {0}/mount-N.yaml.\n{1}\n",
               out_.path().string(), kMountCaution);
    return kFine;
  }

 private:
  void Prepare() {
    TakeChoice first;
    first.lesson = options_.lessons.front();
    first.policy = ParsePolicyChoice(options_.policy);
    first.arm = options_.arm, first.bench = options_.bench;
    first = WithDefaults(first, shelf_);
    options_.arm = first.arm, options_.bench = first.bench;
    bench_ = shelf_.GetBench(options_.bench);
    if (options_.lenses.empty()) options_.lenses = {first.camera};
    std::string all = fmt::format("{} {} {} {}", ThisBuild().program, options_.seed, options_.step_mm, options_.clearance_mm);
    all += bench_.text + shelf_.GetArm(options_.arm).text;
    for (const std::string& lens : options_.lenses) {
      const CameraBody& camera = shelf_.GetCamera(lens);
      const Stage stage = MakeStage(bench_, shelf_.GetArm(options_.arm), camera);
      all += camera.text;
      MountCast cast{camera.name, {}};
      for (const std::string& name : options_.lessons) {
        const Lesson& lesson = shelf_.GetLesson(name);
        all += lesson.text;
        RequireFits(lesson, bench_);
        TakeChoice choice = first;
        choice.lesson = name, choice.person.clear();
        for (const std::string& person : PeopleFor(options_, WithDefaults(choice, shelf_).person)) {
          all += shelf_.GetPerson(person).text;
          cast.views.emplace_back(lesson, stage, shelf_.GetPerson(person), options_.seed);
        }
      }
      casts_.push_back(std::move(cast));
    }
    key_ = fmt::format("dryrig mount {:016x}", HashText(all));
  }

  /// The best mounts and the bench's own, by takes.
  void Confirm(const std::vector<RankedMount>& mounts) {
    std::vector<std::string> benches, names;
    for (size_t i = 0; i < std::min(static_cast<size_t>(options_.confirm), mounts.size()); ++i) {
      const std::string file = fmt::format("mount-{}.yaml", i + 1);
      out_.Write(file, WithMount(bench_.text, mounts[i].place));
      benches.push_back((out_.path() / file).string());
      names.push_back(fmt::format("{}. {}", i + 1, mounts[i].place.Text()));
    }
    benches.push_back(options_.bench);
    names.push_back("the bench's own mount");
    TextTable table({TextTable::Align::kLeft, TextTable::Align::kLeft, TextTable::Align::kRight, TextTable::Align::kRight,
                     TextTable::Align::kRight, TextTable::Align::kRight, TextTable::Align::kRight, TextTable::Align::kRight});
    table.Row({"mount", "camera", "seen", "takes", "framing error (95 %)", "hands visible", "unreachable", "nearest [m]"});
    table.Rule();
    std::vector<GridTake> grid;
    for (size_t b = 0; b < benches.size(); ++b) {
      Suite suite = SuiteOf(options_.lessons, {options_.policy});
      suite.arms = {options_.arm}, suite.benches = {benches[b]}, suite.seeds = {options_.seed};
      suite.cameras = {b < mounts.size() && b + 1 < benches.size() ? mounts[b].camera : mounts.front().camera};
      if (!options_.people.empty()) suite.people = PeopleFor(options_, "");
      for (GridTake take : MakeGrid(suite, shelf_)) {
        take.place = grid.size();
        grid.push_back(std::move(take));
      }
    }
    const FilmingOptions filming{options_.out, options_.jobs, false, false, options_.quiet, {}};
    const std::unique_ptr<Store> store = OpenResults(out_, grid, filming);
    for (const Failure& failure : FilmMissing(grid, filming, shelf_, store.get(), nullptr))
      fmt::print(stderr, "dryrig: failed: {}\n  {}\n", failure.command, failure.error);
    for (size_t b = 0; b < benches.size(); ++b) {
      std::vector<TakeScores> takes;
      std::string camera;
      for (const GridTake& take : grid) {
        if (take.choice.bench != benches[b]) continue;
        camera = take.id.camera;
        if (const auto id = store->FindTake(take.id)) takes.push_back({take.id, store->ReadScores(*id)});
      }
      const Confirmed got = Gathered(takes);
      std::string framing = "-";
      if (!got.framing.empty()) {
        const Interval interval = HierarchicalInterval(got.framing, 2000, 1);
        framing = fmt::format("{:.3f} ({:.2f} to {:.2f})", got.framing_mean, interval.lo, interval.hi);
      }
      table.Row({names[b], camera, b + 1 < benches.size() ? fmt::format("{:.0f} %", 100 * mounts[b].score.seen()) : "-",
                 std::to_string(got.takes), framing, fmt::format("{:.3f}", got.visible), fmt::format("{:.3f}", got.unreachable),
                 fmt::format("{:.3f}", got.nearest_m)});
    }
    fmt::print("The best by takes of {}, each lesson once a person:\n{}\n", options_.policy, table.ToString());
  }

  MountOptions options_;
  OutFolder out_;
  SceneShelf shelf_;
  Bench bench_;
  std::vector<MountCast> casts_;
  std::string key_;
};

/// Lessons at several benches are as many questions, each with its own answer.
int RunMount(const MountOptions& options) {
  std::vector<std::string> benches;
  std::map<std::string, std::vector<std::string>> lessons;
  SceneShelf shelf;
  for (const std::string& name : options.lessons) {
    const std::string bench = options.bench.empty() ? shelf.GetLesson(name).bench : options.bench;
    if (!lessons.contains(bench)) benches.push_back(bench);
    lessons[bench].push_back(name);
  }
  if (benches.size() == 1) return MountCommand(options).Run();
  OutFolder(options.out).Open();
  for (const std::string& bench : benches) {
    MountOptions one = options;
    one.bench = bench, one.lessons = lessons[bench];
    one.out = (std::filesystem::path(options.out) / bench).string();
    fmt::print("== {}: {}\n\n", bench, fmt::join(one.lessons, ", "));
    MountCommand(one).Run();
    fmt::print("\n");
  }
  return kFine;
}

}  // namespace

void AddMount(CommandTable& program) {
  auto options = std::make_shared<MountOptions>();
  const Command command = program.Add("mount", "Find where to mount the arm: which places see what the lessons intend.");
  command.Add("lessons", options->lessons, "Lesson files or names").Required();
  command.Add("--bench", options->bench, "Bench file or name; default: each lesson's own, bench by bench");
  command.Add("--arm", options->arm, "Arm file or name; default: the first shipped");
  command.Add("--lens", options->lenses, "Camera file or name; may be repeated, to compare focal lengths");
  command.Add("--people", options->people,
              "Person file or name, may be repeated; all: everybody shipped; default: each lesson's");
  command.Add("--policy,-p", options->policy, "Policy of the takes that confirm the best").ShowDefault();
  command.Add("--confirm", options->confirm, "How many of the best are confirmed by takes; 0: none").Range(0, 50).ShowDefault();
  command.Add("--step-mm", options->step_mm, "Step of the grid of mounts").Range(50.0, 2000.0).ShowDefault();
  command.Add("--clearance-mm", options->clearance_mm, "Nearest that arm and camera may come to the person")
      .Range(0.0, 2000.0)
      .ShowDefault();
  command.Add("--seed", options->seed, "Seed of the performances").ShowDefault();
  command.Add("--jobs,-j", options->jobs, "Threads; results do not depend on it").Range(1, 1024).ShowDefault();
  command.Add("--out,-o", options->out, "Folder for the results; goes on where it stopped").Required();
  command.Flag("--quiet,-q", options->quiet, "No progress");
  command.Footer(
      "A simulation is no risk assessment: the robot's manual, the standards in force, local codes and a qualified person "
      "decide.\n"
      "Examples:\n"
      "  dryrig mount booklet pouch --bench study-table --out out/mounts\n"
      "  dryrig mount booklet --lens prime --lens zoom --people all --confirm 0 --out out/lenses");
  command.Run([options] { return RunMount(*options); });
}

}  // namespace dryrig
