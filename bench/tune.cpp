#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <thread>

#include "bench/context.h"
#include "bench/out_folder.h"
#include "bench/outside_options.h"
#include "bench/param_file.h"
#include "bench/program.h"
#include "bench/tune_report.h"
#include "bench/tune_space.h"
#include "bench/tune_takes.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

struct TuneOptions {
  Suite grid;  // what the options cross; its one policy is where the search starts
  std::string policy, from;
  std::vector<std::string> params, wishes, at_least, at_most, hold_out, hold_out_people;
  std::string front, out;
  int evaluations = 60, settings = 5, seeds = 1;
  int jobs = static_cast<int>(std::max(1u, std::thread::hardware_concurrency()));
  OutsideChoice outside;
  bool json = false, quiet = false;
};

std::vector<std::string> People(const std::vector<std::string>& named) {
  return named.size() == 1 && named.front() == "all" ? ListScenes(SceneKind::kPerson) : named;
}

std::string LimitText(const HardLimit& limit) {
  return limit.at_least ? fmt::format("{} at least {:.4g}", limit.metric, *limit.at_least)
                        : fmt::format("{} at most {:.4g}", limit.metric, *limit.at_most);
}

std::vector<std::string> NamesOf(const std::vector<GridTake>& grid) {
  std::vector<std::string> out;
  for (const GridTake& take : grid) {
    if (std::find(out.begin(), out.end(), take.id.lesson) == out.end()) out.push_back(take.id.lesson);
  }
  return out;
}

class TuneCommand {
 public:
  explicit TuneCommand(const TuneOptions& options) : options_(options), out_(options.out) {}

  int Run() {
    Prepare();
    out_.Open();
    filming_ = {options_.out, options_.jobs, false, false, options_.quiet, {}};
    std::vector<GridTake> both = tuning_grid_;
    both.insert(both.end(), held_grid_.begin(), held_grid_.end());
    const std::unique_ptr<Store> store = OpenResults(out_, both, filming_);
    Progress progress(Evaluations() * tuning_grid_.size() + (Settings() + 1) * held_grid_.size(), options_.quiet);
    PointTakes tuning(tuning_grid_, space_, filming_, shelf_, store.get(), &progress);
    PointTakes held(held_grid_, space_, filming_, shelf_, store.get(), &progress);
    if (tuning.At(StartOf(space_)).empty()) {
      throw RunError(fmt::format("the start failed, so there is nothing to begin with: {}\n  {}", tuning.failures().front().error,
                                 tuning.failures().front().command));
    }
    if (wishes_.size() == 2 && !options_.front.empty())
      FindTradeOffs(&tuning, &held);
    else
      FindBest(&tuning, &held);
    progress.Finish();
    store->Compact();
    for (const PointTakes* takes : {&tuning, &held}) {
      told_.failed_takes += takes->failures().size();
      if (told_.first_failure.empty() && !takes->failures().empty()) told_.first_failure = takes->failures().front().error;
    }
    return Tell();
  }

 private:
  size_t Evaluations() const { return static_cast<size_t>(options_.evaluations); }
  size_t Settings() const { return options_.front.empty() ? 1 : static_cast<size_t>(options_.settings); }

  void Prepare() {
    options_.outside.Load({options_.policy});
    const PolicyChoice start = StartFrom(options_.from, options_.policy, options_.outside);
    const PolicyEntry& policy = FindPolicy(start.name);
    space_ = ParseSpace(options_.params, policy, start.values);
    ReadWishes();
    const size_t least = LeastEvaluations(space_.size()) * (options_.front.empty() ? 1 : Settings());
    if (Evaluations() < least)
      throw InputError(fmt::format("--evaluations {}: {} parameters{} need at least {}", options_.evaluations, space_.size(),
                                   options_.front.empty() ? "" : fmt::format(" and {} settings", options_.settings), least));
    Suite suite = options_.grid;
    suite.policies = {Spelled(start)};
    suite.seeds.clear();
    for (int seed = 1; seed <= options_.seeds; ++seed) suite.seeds.push_back(static_cast<uint64_t>(seed));
    suite.people = People(suite.people);
    for (const std::string& name : suite.lessons) {
      if (shelf_.GetLesson(name).set == LessonSet::kTest)
        throw InputError(fmt::format("lesson {} is marked set: test, which is not for tuning; name it with --hold-out", name));
    }
    tuning_grid_ = MakeGrid(suite, shelf_);
    suite.lessons = HeldOut();
    if (!options_.hold_out_people.empty()) suite.people = People(options_.hold_out_people);
    held_grid_ = MakeGrid(suite, shelf_);
    if (held_grid_.size() < 2)
      throw InputError("a single take is held out, which tells no interval; hold out more lessons, or take more people or seeds");
    for (GridTake& take : held_grid_) take.place += Evaluations() * tuning_grid_.size();
    told_.policy = Spelled(start);
    told_.space = space_;
    told_.tuned_on = NamesOf(tuning_grid_);
    told_.held_out = NamesOf(held_grid_);
    told_.takes_each = tuning_grid_.size();
    told_.held_takes = held_grid_.size();
  }

  void ReadWishes() {
    std::vector<std::string> wishes = options_.wishes;
    if (!options_.front.empty()) {
      const size_t comma = options_.front.find(',');
      if (!wishes.empty()) throw InputError("--front weighs nothing: it takes no --wish");
      if (comma == std::string::npos || options_.front.find_first_of(",=", comma + 1) != std::string::npos ||
          options_.front.find('=') != std::string::npos)
        throw InputError(
            fmt::format("--front \"{}\": expected two metrics, such as framing_error,jerk", options_.front.substr(0, 200)));
      wishes = {options_.front.substr(0, comma), options_.front.substr(comma + 1)};
      told_.front = wishes;
    }
    wishes_ = ParseWishes(wishes);
    for (const std::string& text : options_.at_least) limits_.push_back(ParseLimit(text, true));
    for (const std::string& text : options_.at_most) limits_.push_back(ParseLimit(text, false));
    for (const MetricWish& wish : wishes_)
      told_.wishes.push_back(told_.front.empty() ? fmt::format("{} (weight {})", wish.metric->name, wish.weight)
                                                 : std::string(wish.metric->name));
  }

  /// Those named, else the shipped lessons marked for tests. @throws InputError where none is, or one is tuned on too.
  std::vector<std::string> HeldOut() {
    std::vector<std::string> out = options_.hold_out;
    if (out.empty()) {
      for (const std::string& name : ListScenes(SceneKind::kLesson)) {
        if (shelf_.GetLesson(name).set == LessonSet::kTest) out.push_back(name);
      }
    }
    if (out.empty())
      throw InputError(
          "no lesson is held out and none shipped is marked set: test: whether tuning gains is seen on lessons that it did not "
          "see; name "
          "some with --hold-out");
    for (const std::string& name : out) {
      const Lesson& lesson = shelf_.GetLesson(name);
      for (const GridTake& take : tuning_grid_) {
        if (take.id.lesson == lesson.name || shelf_.GetLesson(take.choice.lesson).text == lesson.text)
          throw InputError(
              fmt::format("lesson {} is held out and tuned on; a gain on it would show nothing. Leave it out of one", name));
      }
    }
    return out;
  }

  TriedPoint Tried(const WishJudge& judge, PointTakes* tuning, const SearchPoint& at, std::vector<double> costs) {
    const std::vector<TakeScores>& takes = tuning->At(at);
    return {at, std::move(costs), takes.empty(), !takes.empty() && judge.Broken(takes) > 0};
  }

  void Keep(TriedPoint tried) {
    told_.course.push_back(std::move(tried));
    out_.Write("course.csv", CourseCsv(told_));
  }

  void FindBest(PointTakes* tuning, PointTakes* held) {
    const SearchPoint start = StartOf(space_);
    const WishJudge judge(wishes_, limits_, tuning->At(start));
    TellLimits(judge);
    const SearchResult found = FindLeast(space_, Evaluations(), [&](const SearchPoint& point) {
      const double cost = judge.Cost(tuning->At(point));
      Keep(Tried(judge, tuning, point, {cost}));
      return cost;
    });
    TunedSetting best{tuning->PolicyAt(found.best), found.best, -100 * judge.CostWithoutLimits(tuning->At(found.best))};
    Compare(judge, tuning, held, &best);
    if (best.compared) {
      const NestedValues gains = judge.Gains(held->At(start), held->At(found.best));
      best.held_gain = NestedMean(gains);
      best.held_interval = HierarchicalInterval(gains, kTuningDraws, 1);
      best.gained = best.limits_hold && best.held_interval.lo > 0;
    }
    told_.settings = {best};
  }

  void FindTradeOffs(PointTakes* tuning, PointTakes* held) {
    const SearchPoint start = StartOf(space_);
    const WishJudge judge(wishes_, limits_, tuning->At(start));
    const std::array<WishJudge, 2> each{WishJudge({wishes_[0]}, judge.limits(), tuning->At(start)),
                                        WishJudge({wishes_[1]}, judge.limits(), tuning->At(start))};
    TellLimits(judge);
    const SearchFront found = FindFront(space_, Evaluations(), Settings(), [&](const SearchPoint& point) {
      const std::vector<TakeScores>& takes = tuning->At(point);
      const std::array<double, 2> costs{each[0].Cost(takes), each[1].Cost(takes)};
      Keep(Tried(judge, tuning, point, {costs[0], costs[1]}));
      return costs;
    });
    for (const FrontPoint& point : Thinned(found.front)) {
      TunedSetting setting{tuning->PolicyAt(point.at), point.at, -100 * judge.CostWithoutLimits(tuning->At(point.at))};
      Compare(judge, tuning, held, &setting);
      if (setting.compared) {
        const NestedValues gains = judge.Gains(held->At(start), held->At(point.at));
        setting.held_gain = NestedMean(gains);
        setting.held_interval = HierarchicalInterval(gains, kTuningDraws, 1);
        std::array<Interval, 2> gain;
        for (size_t i = 0; i < 2; ++i)
          gain[i] = HierarchicalInterval(each[i].Gains(held->At(start), held->At(point.at)), kTuningDraws, 1);
        setting.gained = setting.limits_hold && std::max(gain[0].lo, gain[1].lo) > 0 && std::min(gain[0].hi, gain[1].hi) >= 0;
      }
      told_.settings.push_back(setting);
    }
  }

  /// At most as many as were asked for, both ends among them.
  std::vector<FrontPoint> Thinned(const std::vector<FrontPoint>& front) const {
    const size_t most = Settings();
    if (front.size() <= most) return front;
    std::vector<FrontPoint> out;
    for (size_t i = 0; i < most; ++i) out.push_back(front[i * (front.size() - 1) / (most - 1)]);
    return out;
  }

  void TellLimits(const WishJudge& judge) {
    for (const HardLimit& limit : judge.limits()) told_.limits.push_back(LimitText(limit));
  }

  /// Both settings on the lessons held out, unless the best is the start.
  void Compare(const WishJudge& judge, PointTakes* tuning, PointTakes* held, TunedSetting* setting) {
    const SearchPoint start = StartOf(space_);
    setting->compared = setting->at != start;
    if (!setting->compared) {
      setting->metrics = CompareMetrics(judge, tuning->At(start), tuning->At(start), {}, {});
      return;
    }
    for (const SearchPoint& point : {start, setting->at}) {
      if (held->At(point).empty())
        throw RunError(fmt::format("a take of the lessons held out failed: {}\n  {}", held->failures().front().error,
                                   held->failures().front().command));
    }
    setting->metrics = CompareMetrics(judge, tuning->At(start), tuning->At(setting->at), held->At(start), held->At(setting->at));
    // The guard of nearness is the start's own there; limits that were named hold as they are.
    const WishJudge there(wishes_, limits_, held->At(start));
    setting->limits_hold = there.Broken(held->At(setting->at)) == 0;
  }

  int Tell() {
    for (size_t i = 0; i < told_.settings.size(); ++i) {
      const TunedSetting& setting = told_.settings[i];
      const std::string file = told_.front.empty() ? "params.yaml" : fmt::format("params-{}.yaml", i + 1);
      const std::string comment = fmt::format("Tuned on {}, {} takes an evaluation, {} evaluations.\nWished: {}.\n{}\n{}",
                                              fmt::join(told_.tuned_on, ", "), told_.takes_each, told_.course.size(),
                                              fmt::join(told_.wishes, ", "), VerdictLine(told_), ToLine(ThisBuild()));
      out_.Write(file, ParamFileText(setting.policy, comment));
    }
    out_.Write("course.csv", CourseCsv(told_));
    out_.Write("course.svg", TuningSvg(told_));
    out_.Write("tuning.json", ToJson(told_).dump(2) + "\n");
    if (options_.json)
      fmt::print("{}\n", ToJson(told_).dump(2));
    else
      fmt::print("{}\nThe results are in {}: {} for --params, course.csv and course.svg, tuning.json, results.db.\n{}\n",
                 ToText(told_), out_.path().string(), told_.front.empty() ? "params.yaml" : "params-N.yaml", kCaution);
    return told_.gained() ? kFine : kVerdictNo;
  }

  TuneOptions options_;
  OutFolder out_;
  SceneShelf shelf_;
  FilmingOptions filming_;
  SearchSpace space_;
  std::vector<MetricWish> wishes_;
  std::vector<HardLimit> limits_;
  std::vector<GridTake> tuning_grid_, held_grid_;
  Tuning told_;
};

}  // namespace

void AddTune(CommandTable& program) {
  auto options = std::make_shared<TuneOptions>();
  Suite& grid = options->grid;
  const Command command = program.Add("tune", "Tune a policy's parameters on lessons; tell whether it gains on others.");
  command.Add("lessons", grid.lessons, "Lesson files or names to tune on; none that is marked set: test").Required();
  command.Add("--policy,-p", options->policy, "Policy to tune, also as NAME:key=value,...: where the search starts");
  command.Add("--params", options->from, "File of parameters to start from");
  command.Add(
      "--param", options->params,
      "Parameter to tune, also as NAME=LOW..HIGH; may be repeated; all: every one. Without a range: four times less to four "
      "times more");
  command.Add("--wish", options->wishes,
              "Metric to better, also as METRIC=WEIGHT; may be repeated. Changes count as shares of the start's value");
  command.Add("--front", options->front, "Two metrics, METRIC,METRIC: look for their trade-offs instead");
  command.Add("--settings", options->settings, "How many settings of the front are handed out").Range(2, 20).ShowDefault();
  command.Add("--at-least", options->at_least, "METRIC=VALUE that no take may fall below; may be repeated");
  command.Add("--at-most", options->at_most, "METRIC=VALUE that no take may go above; may be repeated");
  command.Add("--evaluations", options->evaluations, "Settings that are tried, each by all takes")
      .Range(1, 100'000)
      .ShowDefault();
  command.Add("--hold-out", options->hold_out,
              "Lesson to see the gain on; may be repeated; default: those shipped with set: test");
  command.Add("--hold-out-person", options->hold_out_people,
              "Person of the lessons held out; may be repeated; all: everybody shipped; default: as --person says");
  command.Add("--person", grid.people, "Person; may be repeated; all: everybody shipped; default: each lesson's");
  command.Add("--sensing", grid.sensings, "Sensing, also as NAME:key=value,...; may be repeated; default: good");
  command.Add("--arm", grid.arms, "Arm; may be repeated; default: the first shipped");
  command.Add("--bench", grid.benches, "Bench; may be repeated; default: each lesson's");
  command.Add("--camera", grid.cameras, "Camera; may be repeated; default: the first prime shipped");
  command.Add("--seeds", options->seeds, "Takes of each kind, seeds 1 to N, the same for all settings")
      .Range(1, 10'000)
      .ShowDefault();
  options->outside.AddTo(command);
  command.Add("--jobs,-j", options->jobs, "Takes at a time; results do not depend on it").Range(1, 1024).ShowDefault();
  command.Add("--out,-o", options->out, "Folder for the results; goes on where it stopped").Required();
  command.Flag("--json", options->json, "Print the result as JSON");
  command.Flag("--quiet,-q", options->quiet, "No progress");
  command.Footer(
      "Unless a limit names closest_approach, no take may come nearer to the person than the nearest at the start. Exit code 1: "
      "no gain "
      "on\nthe lessons held out. A simulation is no risk assessment: the robot's manual, the standards in force, local codes and "
      "a "
      "qualified\nperson decide.\n"
      "Examples:\n"
      "  dryrig tune booklet seedling pouch --policy planner --param composition --param pace=0.4..1 --wish framing_error --wish "
      "jerk=0.3 \\\n      --evaluations 60 --out out/tuned\n"
      "  dryrig tune booklet seedling --policy planner --param calm_s --param pace --front framing_error,jerk --out out/front\n"
      "  dryrig compare loaf --policy planner --params out/tuned/params.yaml --out out/both");
  command.Run([options] { return TuneCommand(*options).Run(); });
}

}  // namespace dryrig
