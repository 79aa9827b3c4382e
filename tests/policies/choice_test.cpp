#include "policies/choice.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/error.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::Pair;
using ::testing::Property;
using ::testing::Throws;

auto Says(const std::string& text) {
  return Throws<InputError>(Property(&InputError::what, HasSubstr(text)));
}

TEST(PolicyChoice, ReadsANameAndItsParameters) {
  EXPECT_EQ(ParsePolicyChoice("follow").name, "follow");
  EXPECT_THAT(ParsePolicyChoice("follow").values, IsEmpty());
  const PolicyChoice choice = ParsePolicyChoice("planner:b=-1e-3,a=2");
  EXPECT_EQ(choice.name, "planner");
  EXPECT_THAT(choice.values, ElementsAre(Pair("a", 2.0), Pair("b", -0.001)));
}

TEST(PolicyChoice, RefusesWhatIsNoNumberOrSetTwice) {
  for (const char* text :
       {"planner:a", "planner:a=", "planner:a=1x", "planner:=1", "planner:a=nan", "planner:a=inf", "planner:", "planner:a=1,"}) {
    EXPECT_THAT([&] { ParsePolicyChoice(text); }, Says("expected key=value")) << text;
  }
  EXPECT_THAT([] { ParsePolicyChoice("planner:a=1,a=2"); }, Says("a is set twice"));
  EXPECT_THAT([] { ParsePolicyChoice(":a=1"); }, Says("no name"));
}

TEST(GovernorChoice, IsTakenOutOfAPolicysParametersAndStandsInItsIdentity) {
  ParamValues values{{"governor", 1}, {"governor_head_m_per_s", 2}, {"dead_band", 0.1}};
  const std::optional<GovernorSpec> governor = TakeGovernor(&values);
  ASSERT_TRUE(governor.has_value());
  EXPECT_EQ(governor->head_mps, 2);
  EXPECT_EQ(governor->limb_mps, GovernorSpec().limb_mps);
  EXPECT_THAT(values, ElementsAre(Pair("dead_band", 0.1)));
  const std::string params = AllParams(FindPolicy("follow"), values, TakeSetup().decision_latency_s, governor);
  EXPECT_THAT(params, AllOf(HasSubstr("governor=1"), HasSubstr("governor_head_m_per_s=2"), Not(HasSubstr("governor_limb"))));
  ParamValues none{{"governor", 0}};
  EXPECT_FALSE(TakeGovernor(&none).has_value());
  EXPECT_THAT(none, IsEmpty());
}

TEST(GovernorChoice, RefusesNumbersWithoutTheLayerOrOutOfRange) {
  const auto take = [](ParamValues values) {
    return [values] {
      ParamValues own = values;
      TakeGovernor(&own);
    };
  };
  EXPECT_THAT(take({{"governor", 2}}), Says("governor: 2 is neither 0 nor 1"));
  EXPECT_THAT(take({{"governor_head_m_per_s", 2}}), Says("governor_head_m_per_s needs governor=1"));
  EXPECT_THAT(take({{"governor", 1}, {"governor_error_m", 3}}), Says("governor_error_m: 3 is outside [0, 0.5] m"));
}

TEST(CommandFor, QuotesWhatAShellWouldRead) {
  TakeChoice choice;
  choice.lesson = "my lesson's.yaml";
  choice.policy = {"follow", {{"dead_band", 0.1}}};
  choice.arm = "reed", choice.bench = "b", choice.person = "p", choice.camera = "c", choice.sensing = "good";
  choice.seed = 7;
  EXPECT_EQ(CommandFor(choice, "out/$x"),
            "dryrig take 'my lesson'\\''s.yaml' --policy follow --set dead_band=0.1 --arm reed --bench b --person p --camera c "
            "--sensing good --seed 7 --physics-hz 240 --out 'out/$x'");
}

}  // namespace
}  // namespace dryrig
