#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <thread>

#include "bench/param_file.h"
#include "bench/tune_search.h"
#include "bench/tune_wish.h"
#include "scenes/error.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::ThrowsMessage;

/// Shares of the intervals at which the planted bowls are lowest.
constexpr std::array kBottom{0.7, 0.35, 0.55};

SearchSpace ThreeParams() {
  return {{"even", "1", 0, -2, 2}, {"ratio", "m", 0.5, 0.1, 10}, {"other", "s", 4, 0, 5}};
}

/// An oblong bowl over the shares, lowest at kBottom plus `moved`.
double Bowl(const SearchSpace& space, const SearchPoint& at, double moved = 0) {
  std::array<double, 3> off{};
  for (size_t i = 0; i < 3; ++i) off[i] = space[i].ShareOf(at[i]) - kBottom[i] - moved;
  return off[0] * off[0] + 3 * off[1] * off[1] + 0.5 * off[2] * off[2] + 0.8 * off[0] * off[1];
}

double FarthestOff(const SearchSpace& space, const SearchPoint& at) {
  double most = 0;
  for (size_t i = 0; i < space.size(); ++i) most = std::max(most, std::abs(space[i].ShareOf(at[i]) - kBottom[i]));
  return most;
}

TEST(TuneSearch, FindsAPlantedOptimum) {
  const SearchSpace space = ThreeParams();
  size_t asked = 0;
  const SearchResult found = FindLeast(space, 60, [&](const SearchPoint& at) { return ++asked, Bowl(space, at); });
  // A round ends with steps of 0.002; twice that is let pass. The start is fifty times as far off.
  EXPECT_LT(FarthestOff(space, found.best), 4e-3);
  EXPECT_GT(FarthestOff(space, StartOf(space)), 0.2);
  EXPECT_LE(found.course.size(), 60u);
  EXPECT_EQ(asked, found.course.size()) << "no point is asked for twice";
  EXPECT_EQ(found.course.front().first, StartOf(space));
  // The same check rejects a search that ends after its first model.
  const SearchResult barely = FindLeast(space, LeastEvaluations(3), [&](const SearchPoint& at) { return Bowl(space, at); });
  EXPECT_GT(FarthestOff(space, barely.best), 4e-3);
}

TEST(TuneSearch, FindsAnOptimumAtTheEdgeAndWithOneParameter) {
  const SearchSpace space{{"x", "1", 0.5, 0, 1}};
  EXPECT_EQ(FindLeast(space, 30, [](const SearchPoint& at) { return at[0]; }).best[0], 0);
  EXPECT_NEAR(FindLeast(space, 40, [](const SearchPoint& at) { return std::abs(at[0] - 0.8); }).best[0], 0.8, 4e-3);
  const SearchSpace three = ThreeParams();
  const SearchResult edge = FindLeast(three, 40, [&](const SearchPoint& at) { return Bowl(three, at, 0.9); });
  EXPECT_EQ(edge.best[0], three[0].hi);
}

TEST(TuneSearch, ALongerSearchBeginsAsAShorterOne) {
  const SearchSpace space = ThreeParams();
  const CostOf cost = [&](const SearchPoint& at) { return Bowl(space, at); };
  const SearchResult shorter = FindLeast(space, 25, cost), longer = FindLeast(space, 50, cost);
  ASSERT_EQ(shorter.course.size(), 25u);
  ASSERT_GT(longer.course.size(), 25u);
  EXPECT_TRUE(std::equal(shorter.course.begin(), shorter.course.end(), longer.course.begin()));
  EXPECT_THROW(FindLeast(space, 25,
                         [](const SearchPoint& at) -> double {
                           if (at[0] != 0) throw RunError("a take failed");
                           return 1;
                         }),
               RunError)
      << "an error of the costs stays that error";
}

TEST(TuneSearch, ValuesAreShortAndTheStartStaysItself) {
  const SearchParam param{"a", "m", 0.123456, 0.03, 0.5};
  EXPECT_EQ(param.ValueAt(param.ShareOf(0.123456)), 0.123456);
  EXPECT_EQ(param.ValueAt(0.5), 0.1225);  // sqrt(0.03 * 0.5) = 0.12247
  EXPECT_EQ(param.ValueAt(0), 0.03);
  EXPECT_EQ(param.ValueAt(1), 0.5);
}

// Two bowls: no point off the way between their bottoms is unbeaten, and both bottoms are.
TEST(TuneSearch, TheFrontLiesBetweenTheTwoOptima) {
  const SearchSpace space{{"x", "1", 0.9, 0, 1}, {"y", "1", 0.9, 0, 1}};
  const auto bowl = [](const SearchPoint& at, double x) { return (at[0] - x) * (at[0] - x) + (at[1] - 0.5) * (at[1] - 0.5); };
  const SearchFront found = FindFront(space, 200, 5, [&](const SearchPoint& at) {
    return std::array<double, 2>{bowl(at, 0.2), bowl(at, 0.7)};
  });
  ASSERT_GE(found.front.size(), 5u);
  EXPECT_LE(found.course.size(), 200u);
  EXPECT_NEAR(found.front.front().at[0], 0.2, 0.01);
  EXPECT_NEAR(found.front.back().at[0], 0.7, 0.01);
  const auto between = std::count_if(found.front.begin(), found.front.end(),
                                     [](const FrontPoint& point) { return point.at[0] > 0.25 && point.at[0] < 0.65; });
  EXPECT_GE(between, 3) << "not the ends alone";
  for (const FrontPoint& point : found.front) {
    // Between two points 0.5 apart both distances add to 0.5; a tenth more is let pass. At the start they add to 1.25.
    EXPECT_LT(std::sqrt(point.costs[0]) + std::sqrt(point.costs[1]), 0.55);
    for (const FrontPoint& other : found.course) EXPECT_FALSE(other.costs[0] < point.costs[0] && other.costs[1] < point.costs[1]);
  }
  const std::vector<FrontPoint> few = Unbeaten({{{1}, {1, 3}}, {{2}, {2, 2}}, {{3}, {2, 4}}, {{4}, {3, 2}}, {{5}, {4, 1}}});
  ASSERT_EQ(few.size(), 3u);
  EXPECT_EQ(few[1].at, SearchPoint{2});
}

TakeScores OneTake(const std::string& lesson, double framing, double visible, double nearest) {
  TakeScores out;
  out.id.lesson = lesson, out.id.person = "avery";
  out.scores = {{"framing_error", "tolerances", framing, {}, ""},
                {"hand_visibility", "", visible, {}, ""},
                {"closest_approach", "m", nearest, {}, ""}};
  return out;
}

TEST(TuneWish, CostIsTheWeightedShareOfChange) {
  const std::vector<TakeScores> start{OneTake("a", 1, 0.5, 0.4), OneTake("b", 3, 0.5, 0.3)};
  const WishJudge judge(ParseWishes({"framing_error=3", "hand_visibility"}), {}, start);
  EXPECT_DOUBLE_EQ(judge.Cost(start), 0);
  // A tenth less framing error in the mean (2 to 1.8), a fifth more visibility: (3 * 0.1 + 0.2) / 4 better.
  const std::vector<TakeScores> better{OneTake("a", 1, 0.6, 0.4), OneTake("b", 2.6, 0.6, 0.3)};
  EXPECT_NEAR(judge.Cost(better), -0.125, 1e-12);
  EXPECT_NEAR(NestedMean(judge.Gains(start, better)), 12.5, 1e-9);
  EXPECT_EQ(judge.Cost({}), WishJudge::kFailed);
}

TEST(TuneWish, NoTakeMayComeNearerThanTheStartOrBreakALimit) {
  const std::vector<TakeScores> start{OneTake("a", 1, 0.5, 0.4), OneTake("b", 3, 0.5, 0.3)};
  const std::vector<TakeScores> nearer{OneTake("a", 0.5, 0.5, 0.4), OneTake("b", 1, 0.5, 0.2)};
  const WishJudge guarded(ParseWishes({"framing_error"}), {}, start);
  ASSERT_EQ(guarded.limits().size(), 1u);
  EXPECT_GT(guarded.Broken(nearer), 1);
  EXPECT_GT(guarded.Cost(nearer), 0) << "half the framing error does not buy nearness";
  EXPECT_EQ(guarded.Broken(start), 0);
  const WishJudge allowed(ParseWishes({"framing_error"}), {ParseLimit("closest_approach=0.15", true)}, start);
  EXPECT_EQ(allowed.Broken(nearer), 0);
  EXPECT_LT(allowed.Cost(nearer), -0.5);
  const WishJudge most(ParseWishes({"hand_visibility"}), {ParseLimit("framing_error=2", false)}, start);
  EXPECT_GT(most.Broken(start), 1);
}

TEST(TuneParams, AFileReadsBackAndSaysWhereItIsWrong) {
  PolicyChoice choice{"planner", {{"size", 1.2345678901234567}, {"decision_latency_s", 0.1}}};
  const std::string text = ParamFileText(choice, "One line.\nAnd another.");
  const PolicyChoice read = ParseParamFile(text, "p.yaml");
  EXPECT_EQ(read.name, "planner");
  EXPECT_EQ(read.values, choice.values);
  EXPECT_EQ(ParsePolicyChoice(Spelled(choice)).values, choice.values);
  EXPECT_TRUE(ParseParamFile(ParamFileText({"tripod", {}}, ""), "p.yaml").values.empty());
  const auto wrong = [](const std::string& policy, const std::string& line) {
    return [=] { ParseParamFile("dryrig: params/1\npolicy: " + policy + "\nparams:\n  " + line + "\n", "p.yaml"); };
  };
  EXPECT_THAT(wrong("planer", "size: 1"), ThrowsMessage<InputError>(AllOf(HasSubstr("p.yaml:2:"), HasSubstr("\"planner\""))));
  EXPECT_THAT(wrong("planner", "sizes: 1"), ThrowsMessage<InputError>(AllOf(HasSubstr("p.yaml:4:"), HasSubstr("\"size\""))));
  EXPECT_THAT(wrong("planner", "size: 11"), ThrowsMessage<InputError>(AllOf(HasSubstr("p.yaml:4:"), HasSubstr("[0, 10]"))));
  EXPECT_THAT(wrong("planner", "size: big"), ThrowsMessage<InputError>(HasSubstr("expected a number")));
  EXPECT_THAT(wrong("planner", "size: nan"), ThrowsMessage<InputError>(HasSubstr("expected a number")));
  EXPECT_THAT(wrong("planner", "decision_latency_s: 9"), ThrowsMessage<InputError>(HasSubstr("outside [0, 2]")));
}

class TuneProgram : public ::testing::Test {
 protected:
  TuneProgram() {
    folder_.Write("short.yaml", kShortLesson);
    std::string other = kShortLesson;
    other.replace(other.find("A short"), 7, "Another");
    other.replace(other.find("[80, 230]"), 9, "[-80, 230]");
    folder_.Write("held.yaml", other);
  }
  std::vector<std::string> Arguments(const std::string& out, const std::vector<std::string>& more) const {
    std::vector<std::string> all{"tune",
                                 (folder_ / "short.yaml").string(),
                                 "--policy",
                                 "follow",
                                 "--param",
                                 "gain_hz",
                                 "--param",
                                 "dead_band=0.02..0.2",
                                 "--hold-out",
                                 (folder_ / "held.yaml").string(),
                                 "--seeds",
                                 "2",
                                 "--quiet",
                                 "--out",
                                 (folder_ / out).string()};
    all.insert(all.end(), more.begin(), more.end());
    return all;
  }
  Ran Run(const std::string& out, const std::vector<std::string>& more) const { return RunDryrig(Arguments(out, more)); }
  Folder folder_;
};

const std::vector<std::string> kUsual{"--wish", "framing_error", "--evaluations", "8"};

TEST_F(TuneProgram, JobsChangeNothingAndTheFileIsOneThatParamsReads) {
  std::vector<std::string> one = kUsual, two = kUsual;
  one.insert(one.end(), {"--jobs", "1"});
  two.insert(two.end(), {"--jobs", "2"});
  const Ran ran = Run("one", one), other = Run("two", two);
  ASSERT_LE(ran.code, 1) << ran.err;
  EXPECT_EQ(ran.code, other.code);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("gain_hz"), HasSubstr("held out"), HasSubstr("not a risk assessment"), HasSubstr("gain")));
  for (const char* file : {"params.yaml", "course.csv", "course.svg", "tuning.json", "results.db"})
    EXPECT_TRUE(ReadText(folder_ / "one" / file) == ReadText(folder_ / "two" / file)) << file;
  EXPECT_EQ(ReadText(folder_ / "one/course.csv").find("evaluation,gain_hz,dead_band,"), 0u);
  const auto tuning = nlohmann::json::parse(ReadText(folder_ / "one/tuning.json"));
  EXPECT_EQ(tuning.at("gained").get<bool>(), ran.code == 0);
  const double gain_hz = tuning.at("settings")[0].at("params").at("gain_hz");
  const std::string params = (folder_ / "one/params.yaml").string(), lesson = (folder_ / "held.yaml").string();
  EXPECT_EQ(RunDryrig({"check", params}).code, 0);
  const Ran take = RunDryrig({"take", lesson, "--params", params, "--out", (folder_ / "take").string(), "--json"});
  ASSERT_EQ(take.code, 0) << take.err;
  EXPECT_THAT(take.out, HasSubstr(fmt::format("gain_hz={}", gain_hz)));
  const Ran compare = RunDryrig({"compare", lesson, "--policy", "tripod", "--params", params, "--out", (folder_ / "c").string()});
  EXPECT_EQ(compare.code, 0) << compare.err;
  EXPECT_EQ(RunDryrig({"take", lesson, "--params", params, "--policy", "tripod", "--out", (folder_ / "t").string()}).code, 2);
}

TEST_F(TuneProgram, AKilledSearchGoesOnToTheSameResult) {
  const Ran whole = Run("whole", kUsual);
  ASSERT_LE(whole.code, 1) << whole.err;
  int kills = 0;
  for (const int rows : {2, 5}) {  // two kills, at different places
    Child child(Arguments("cut", kUsual));
    for (int i = 0; i < 10'000; ++i) {
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
      const std::string course = ReadText(folder_ / "cut/course.csv");
      if (std::count(course.begin(), course.end(), '\n') > rows) break;
    }
    kills += child.Kill() == 128 + SIGKILL;
  }
  EXPECT_EQ(kills, 2) << "it was cut off in its course";
  const Ran resumed = Run("cut", kUsual);
  EXPECT_EQ(resumed.code, whole.code);
  for (const char* file : {"params.yaml", "course.csv", "tuning.json", "results.db"})
    EXPECT_TRUE(ReadText(folder_ / "whole" / file) == ReadText(folder_ / "cut" / file)) << file;
}

TEST_F(TuneProgram, ATradeOffHandsOutSettings) {
  const Ran ran = Run("front", {"--front", "framing_error,jerk", "--settings", "2", "--evaluations", "16", "--json"});
  ASSERT_LE(ran.code, 1) << ran.err;
  const auto tuning = nlohmann::json::parse(ran.out);
  EXPECT_EQ(tuning.at("front").size(), 2u);
  EXPECT_GE(tuning.at("settings").size(), 1u);
  EXPECT_THAT(ReadText(folder_ / "front/params-1.yaml"), HasSubstr("dryrig: params/1"));
  EXPECT_THAT(ReadText(folder_ / "front/course.svg"), AllOf(HasSubstr("<svg"), HasSubstr("jerk")));
}

TEST_F(TuneProgram, RefusesInPlainWords) {
  const auto says = [&](const std::vector<std::string>& more, const std::string& words) {
    const Ran ran = Run("refused", more);
    EXPECT_EQ(ran.code, 2) << ran.err;
    EXPECT_THAT(ran.err, HasSubstr(words));
    EXPECT_FALSE(std::filesystem::exists(folder_ / "refused"));
  };
  says({"--wish", "framing_eror"}, "did you mean \"framing_error\"?");
  says({"--wish", "framing_error=-1"}, "not above 0");
  says({"--wish", "framing_error", "--wish", "framing_error"}, "given twice");
  says({}, "nothing is wished for");
  says({"--wish", "jerk", "--param", "frame_hights"}, "did you mean \"frame_heights\"?");
  says({"--wish", "jerk", "--param", "frame_heights=0.2..99"}, "99 is outside [0.1, 1.5]");
  says({"--wish", "jerk", "--param", "frame_heights=0.7..0.9"}, "the search would start at 0.4");
  says({"--wish", "jerk", "--param", "gain_hz=0.1..1"}, "named twice");
  says({"--wish", "jerk", "--evaluations", "6"}, "need at least 7");
  says({"--wish", "jerk", "--at-least", "closest_aproach=1"}, "did you mean \"closest_approach\"?");
  says({"--wish", "jerk", "--hold-out", (folder_ / "short.yaml").string()}, "held out and tuned on");
  says({"--front", "jerk"}, "expected two metrics");
  says({"--front", "jerk,jerk"}, "given twice");
  const auto alone = [&](std::vector<std::string> arguments) {
    arguments.insert(arguments.end(),
                     {"--policy", "follow", "--param", "gain_hz", "--wish", "jerk", "--out", (folder_ / "r").string()});
    return RunDryrig(arguments);
  };
  const Ran test = alone({"tune", "brooch"});
  EXPECT_EQ(test.code, 2);
  EXPECT_THAT(test.err, HasSubstr("not for tuning"));
  const Ran single = alone({"tune", "booklet", "--hold-out", (folder_ / "held.yaml").string()});
  EXPECT_EQ(single.code, 2);
  EXPECT_THAT(single.err, HasSubstr("single take"));
}

TEST_F(TuneProgram, RefusesWhereNoLessonIsHeldOut) {
  const std::filesystem::path scenes = folder_ / "scenes";
  std::filesystem::copy(std::filesystem::path(DRYRIG_SOURCE_DIR) / "scenes", scenes, std::filesystem::copy_options::recursive);
  for (const char* lesson : {"brooch", "lino-print"})
    std::filesystem::remove(scenes / "lessons" / fmt::format("{}.yaml", lesson));
  setenv("DRYRIG_SCENES", scenes.c_str(), 1);
  const Ran ran = RunDryrig(
      {"tune", "booklet", "--policy", "follow", "--param", "gain_hz", "--wish", "jerk", "--out", (folder_ / "none").string()});
  unsetenv("DRYRIG_SCENES");
  EXPECT_EQ(ran.code, 2);
  EXPECT_THAT(ran.err, HasSubstr("no lesson is held out"));
}

// `follow` set so that it lags far behind and hardly moves: to find better settings on two lessons helps on two others.
TEST(TuneLong, MendsASpoiltPolicyAndShowsItOnOtherLessons) {
  const Folder folder;
  const Ran ran = RunDryrig({"tune",
                             "booklet",
                             "seedling",
                             "--policy",
                             "follow:gain_hz=0.06,dead_band=0.4",
                             "--param",
                             "gain_hz=0.05..2",
                             "--param",
                             "dead_band=0.01..0.5",
                             "--wish",
                             "framing_error",
                             "--evaluations",
                             "20",
                             "--seeds",
                             "2",
                             "--hold-out",
                             "pouch",
                             "--hold-out",
                             "handle",
                             "--quiet",
                             "--out",
                             (folder / "out").string()});
  EXPECT_EQ(ran.code, 0) << ran.out << ran.err;
  EXPECT_THAT(ran.out, HasSubstr("Gained"));
  EXPECT_THAT(ran.out, Not(HasSubstr("Did not gain")));
}

}  // namespace
}  // namespace dryrig
