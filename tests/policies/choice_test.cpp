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

TEST(SetupParams, AreTakenOutOfAPolicysOwnAndStandInTheIdentity) {
  ParamValues values{{"governor", 1}, {"governor_head_m_per_s", 2}, {"dead_band", 0.1}, {"fault_stuck_joint", 3}};
  TakeSetup setup;
  TakeSetupParams(&values, &setup);
  ASSERT_TRUE(setup.governor.has_value());
  EXPECT_EQ(setup.governor->head_mps, 2);
  EXPECT_EQ(setup.governor->limb_mps, GovernorSpec().limb_mps);
  EXPECT_EQ(setup.faults.stuck_joint, 3);
  EXPECT_THAT(values, ElementsAre(Pair("dead_band", 0.1)));
  const std::string params = AllParams(FindPolicy("follow"), values, setup);
  EXPECT_THAT(params, AllOf(HasSubstr("governor=1"), HasSubstr("governor_head_m_per_s=2"), HasSubstr("fault_stuck_joint=3"),
                            Not(HasSubstr("governor_limb")), Not(HasSubstr("fault_at_s"))));
  ParamValues none{{"governor", 0}};
  TakeSetupParams(&none, &setup);
  EXPECT_FALSE(setup.governor.has_value());
  EXPECT_THAT(none, IsEmpty());
}

TEST(SetupParams, EachIsSetWhereItIsReadAndItsDefaultIsWithinItsRange) {
  TakeSetup setup;
  setup.governor.emplace();
  for (const SetupParam& param : SetupParams()) {
    if (std::string_view(param.name) == kGovernorParam) continue;
    EXPECT_GE(param.get(TakeSetup()), param.lo) << param.name;
    EXPECT_GE(param.hi, std::min(param.get(TakeSetup()), 1e9)) << param.name;  // "never" is infinite
    const double value = param.hi == 1e9 ? 123.0 : param.hi;
    param.set(&setup, value);
    EXPECT_EQ(param.get(setup), value) << param.name;
  }
}

TEST(SetupParams, RefuseNumbersWithoutTheLayerOutOfRangeOrOfNoName) {
  const auto take = [](ParamValues values) {
    return [values] {
      ParamValues own = values;
      TakeSetup setup;
      TakeSetupParams(&own, &setup);
    };
  };
  EXPECT_THAT(take({{"governor", 2}}), Says("governor: 2 is outside [0, 1]"));
  EXPECT_THAT(take({{"governor", 0.5}}), Says("governor: 0.5 is no whole number"));
  EXPECT_THAT(take({{"governor_head_m_per_s", 2}}), Says("governor_head_m_per_s needs governor=1"));
  EXPECT_THAT(take({{"governor", 1}, {"governor_error_m", 3}}), Says("governor_error_m: 3 is outside [0, 0.5] m"));
  EXPECT_THAT(take({{"decision_latency_s", 3}}), Says("decision_latency_s: 3 is outside [0, 2] s"));
  EXPECT_THAT(take({{"fault_power_lst", 1}}), Says("did you mean \"fault_power_lost\""));
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
