#include "bench/sensitivity.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/program.h"
#include "policies/choice.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

/// Takes of policies that score `values` by framing_error in eight lessons, and `by_other_key` by the key "other". Each lesson
/// adds the same to all, so that differences are the same in every lesson but for `spread`, which is of alternating sign.
struct Field {
  std::vector<TakeScores> takes;
  std::vector<std::vector<VariantScore>> variants;
  void Add(const std::string& policy, double value, double by_other_key, double spread = 0) {
    for (int lesson = 0; lesson < 8; ++lesson) {
      TakeScores take;
      take.id.lesson = fmt::format("lesson-{}", lesson);
      take.id.policy = policy;
      take.id.person = "avery";
      const double here = lesson + (lesson % 2 == 0 ? spread : -spread);
      take.scores.push_back({"framing_error", "tolerances", value + here, std::nullopt, ""});
      takes.push_back(take);
      variants.push_back({{"other", "framing_error", "tolerances", by_other_key + here}});
    }
  }
};

TEST(Ranking, HoldsWhereTheOtherKeyOrdersAlike) {
  Field field;
  field.Add("tripod", 3, 5);
  field.Add("planner", 1, 4);
  field.Add("follow", 2, 4.5);
  const std::vector<Ranking> rankings = CompareRankings(field.takes, field.variants);
  ASSERT_EQ(rankings.size(), 1u);
  EXPECT_THAT(rankings[0].order, ElementsAre("planner", "follow", "tripod"));
  EXPECT_TRUE(rankings[0].holds());
  EXPECT_THAT(rankings[0].under[0].swaps, IsEmpty());
  EXPECT_THAT(ToText(rankings), AllOf(HasSubstr("the ranking holds"), Not(HasSubstr("comes before"))));
}

TEST(Ranking, DoesNotHoldWhereADecidedPairChangesPlaces) {
  Field field;
  field.Add("tripod", 3, 1);
  field.Add("planner", 1, 3);
  const std::vector<Ranking> rankings = CompareRankings(field.takes, field.variants);
  EXPECT_FALSE(rankings[0].holds());
  ASSERT_EQ(rankings[0].under[0].swaps.size(), 1u);
  EXPECT_EQ(rankings[0].under[0].swaps[0].above, "planner");
  EXPECT_THAT(ToText(rankings), HasSubstr("other: tripod comes before planner, which was better beyond its interval"));
}

TEST(Ranking, HoldsWhereOnlyWhatWasUndecidedChangesPlaces) {
  Field field;
  field.Add("tripod", 1.01, 1, 2);  // 0.01 worse, give or take 2
  field.Add("planner", 1, 1.01);
  const std::vector<Ranking> rankings = CompareRankings(field.takes, field.variants);
  ASSERT_EQ(rankings[0].under[0].swaps.size(), 1u);
  EXPECT_FALSE(rankings[0].under[0].swaps[0].decided);
  EXPECT_TRUE(rankings[0].holds());
}

TEST(Ranking, LeavesOutWhatKnowsTheKeyAndWhatHasNoOtherScores) {
  Field field;
  field.Add("planner", 1, 3);
  field.Add("reference", 0.5, 9);
  EXPECT_THAT(CompareRankings(field.takes, field.variants), IsEmpty());  // one policy makes no ranking
  field.Add("tripod", 2, 4);
  EXPECT_THAT(CompareRankings(field.takes, field.variants)[0].order, ElementsAre("planner", "tripod"));
  const std::vector<std::vector<VariantScore>> none(field.takes.size());
  EXPECT_THAT(CompareRankings(field.takes, none), IsEmpty());
}

class Variants : public ::testing::Test {
 protected:
  Variants() {
    TakeChoice choice;
    choice.lesson = folder_.Write("short.yaml", kShortLesson);
    choice.policy.name = "planner";
    SceneShelf shelf;
    const PreparedTake prepared = Prepare(WithDefaults(choice, shelf), shelf);
    take_ = RunTake(prepared.setup, *prepared.MakePolicy());
  }
  std::optional<double> Value(const std::vector<VariantScore>& scores, const std::string& metric) const {
    for (const VariantScore& score : scores) {
      if (score.metric == metric) return score.value;
    }
    ADD_FAILURE() << metric;
    return std::nullopt;
  }
  double Own(const char* metric) const { return *FindMetric(metric).compute(Footage(take_)).value; }
  Folder folder_;
  Take take_;
};

TEST_F(Variants, AKeyThatIsNotChangedGivesTheTakesOwnScores) {
  const std::vector<VariantScore> scores = ScoreVariants(&take_, {SuiteVariant{}});
  ASSERT_EQ(scores.size(), kKeyedAxes.size());
  for (const char* axis : kKeyedAxes) EXPECT_EQ(Value(scores, axis), FindMetric(axis).compute(Footage(take_)).value) << axis;
}

TEST_F(Variants, TheTakeIsAfterwardsAsItWas) {
  const std::vector<TimedIntent> before = take_.intents;
  ScoreVariants(&take_, {{0.5, 1, 2}, {-100, -3, 0.5}});
  ASSERT_EQ(take_.intents.size(), before.size());
  for (size_t i = 0; i < before.size(); ++i) {
    EXPECT_EQ(take_.intents[i].start_s, before[i].start_s);
    EXPECT_EQ(take_.intents[i].end_s, before[i].end_s);
    EXPECT_EQ(take_.intents[i].shot, before[i].shot);
  }
}

TEST_F(Variants, WiderTolerancesForgiveMoreAndNarrowerLess) {
  const double own = Own("framing_error");
  EXPECT_LT(*Value(ScoreVariants(&take_, {{0, 0, 2}}), "framing_error"), own);
  EXPECT_GT(*Value(ScoreVariants(&take_, {{0, 0, 0.5}}), "framing_error"), own);
  EXPECT_EQ(*Value(ScoreVariants(&take_, {{0, 0, 2}}), "occlusion"), Own("occlusion"));  // no tolerance in it
}

TEST_F(Variants, AShotThreeSizesCloserThanWhatWasFilmedIsFramedWorse) {
  for (TimedIntent& intent : take_.intents) intent.shot.size = ShotSize::kWide;
  Take as_filmed = take_;
  for (TimedIntent& intent : as_filmed.intents) intent.shot.size = ShotSize::kExtremeCloseUp;
  const auto stepped = Value(ScoreVariants(&take_, {{0, 3, 1}}), "framing_error");
  EXPECT_EQ(stepped, FindMetric("framing_error").compute(Footage(as_filmed)).value);
  EXPECT_EQ(stepped, Value(ScoreVariants(&as_filmed, {{0, 3, 1}}), "framing_error")) << "beyond the closest there is none";
}

TEST_F(Variants, IntentsShiftedOutOfTheTakeAskForNothing) {
  EXPECT_EQ(Value(ScoreVariants(&take_, {{10, 0, 1}}), "framing_error"), std::nullopt);
}

TEST(Sensitivity, ASuiteWithVariantsSaysWhetherItsRankingHoldsAndFilmsNothingTwice) {
  const Folder folder;
  folder.Write("short.yaml", kShortLesson);
  const std::string suite = fmt::format(
      "dryrig: suite/1\ntitle: T\nlessons: [{}]\npolicies: [tripod, follow, reference]\nkeep_series:\n  - {{policy: follow}}\n",
      (folder / "short.yaml").string());
  const std::string file = folder.Write("s.yaml", suite + "variants:\n  - {shift_s: 0.5}\n"), out = (folder / "out").string();
  const Ran first = RunDryrig({"compare", file, "--out", out});
  ASSERT_EQ(first.code, kFine) << first.err;
  EXPECT_THAT(first.out,
              AllOf(HasSubstr("Is the ranking the policies'"), HasSubstr("under 1 other keys"), Not(HasSubstr("reference,"))));
  folder.Write("s.yaml", suite + "variants:\n  - {shift_s: 0.5}\n  - {tolerances: 2}\n");
  const Ran more = RunDryrig({"compare", file, "--out", out, "--json"});
  ASSERT_EQ(more.code, kFine) << more.err;
  // follow was kept whole and reference needs no other key; tripod has to be filmed again.
  EXPECT_THAT(more.err, AllOf(HasSubstr("resuming: 1 of 3"), HasSubstr("1 take was"), HasSubstr("1 takes, kept whole")));
  EXPECT_THAT(more.out, AllOf(HasSubstr("rankings_by_other_keys"), HasSubstr("tolerances x 2")));
  EXPECT_THAT(RunDryrig({"compare", file, "--out", out}).err, HasSubstr("3 of 3"));
}

}  // namespace
}  // namespace dryrig
