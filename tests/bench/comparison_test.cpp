#include "bench/comparison.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <map>
#include <sstream>

#include "bench/scorecard.h"
#include "bench/text_table.h"
#include "policies/table.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;

using Values = std::map<std::string, std::optional<double>>;

TakeScores TakeOf(const std::string& policy, const Values& values, uint64_t seed = 1) {
  TakeScores out;
  out.id.lesson = "lesson";
  out.id.policy = policy;
  out.id.seed = seed;
  for (const Metric& metric : Metrics()) {
    const auto it = values.find(std::string(metric.name));
    out.scores.push_back(
        {std::string(metric.name), std::string(metric.unit), it == values.end() ? std::nullopt : it->second, {}, ""});
  }
  return out;
}

/// hand_visibility, hand_detail, framing_error, jerk, occlusion, closest_approach.
Values Axes(double visibility, double detail, double framing, double jerk, double occlusion, double approach) {
  return {{"hand_visibility", visibility}, {"hand_detail", detail},       {"framing_error", framing}, {"jerk", jerk},
          {"occlusion", occlusion},        {"closest_approach", approach}};
}

std::vector<std::string> Unbeaten(const std::vector<TakeScores>& takes, double floor = kVisibilityFloor) {
  std::vector<PolicySummary> summary = Summarise(takes);
  MarkUnbeaten(&summary, floor);
  std::vector<std::string> out;
  for (const PolicySummary& policy : summary) {
    if (policy.unbeaten) out.push_back(policy.policy);
  }
  return out;
}

size_t IndexOf(const char* metric) {
  return static_cast<size_t>(&FindMetric(metric) - Metrics().data());
}

TEST(Unbeaten, ACameraParkedBeforeTheWallIsNeverMarked) {
  // Perfectly smooth, farthest away, nothing occluded; it sees no hand.
  const TakeScores parked = TakeOf("tripod", Axes(0, 0, 4, 0, 0, 3));
  const TakeScores working = TakeOf("follow", Axes(0.8, 0.6, 1.2, 2, 0.2, 0.5));
  EXPECT_THAT(Unbeaten({parked, working}), ElementsAre("follow"));
  EXPECT_THAT(Unbeaten({parked}), ElementsAre());
  // The floor is what keeps it out: without one it would be marked for its smoothness.
  EXPECT_THAT(Unbeaten({parked, working}, 0), ElementsAre("tripod", "follow"));
}

TEST(Unbeaten, ThePolicyBeatenOnEveryAxisIsNotMarked) {
  EXPECT_THAT(Unbeaten({TakeOf("follow", Axes(0.7, 0.5, 2, 3, 0.3, 0.4)), TakeOf("planner", Axes(0.8, 0.6, 1, 2, 0.2, 0.5))}),
              ElementsAre("planner"));
}

TEST(Unbeaten, BetterOnOneAxisIsEnoughToBeMarked) {
  const Values planner = Axes(0.8, 0.6, 1, 2, 0.2, 0.5);
  for (const auto& [axis, better] : Axes(0.9, 0.7, 0.9, 1.9, 0.1, 0.6)) {
    SCOPED_TRACE(axis);
    Values other = Axes(0.7, 0.5, 2, 3, 0.3, 0.4);
    other[axis] = better;
    EXPECT_THAT(Unbeaten({TakeOf("follow", other), TakeOf("planner", planner)}), ElementsAre("follow", "planner"));
  }
}

TEST(Unbeaten, EqualOnAllAxesBothAreMarked) {
  const Values same = Axes(0.8, 0.6, 1, 2, 0.2, 0.5);
  EXPECT_THAT(Unbeaten({TakeOf("follow", same), TakeOf("planner", same)}), ElementsAre("follow", "planner"));
}

TEST(Unbeaten, ThePolicyThatKnowsTheKeyIsNeitherMarkedNorARival) {
  ASSERT_FALSE(FindPolicy("reference").deployable);
  EXPECT_THAT(
      Unbeaten({TakeOf("planner", Axes(0.8, 0.6, 1, 2, 0.2, 0.5)), TakeOf("reference", Axes(0.9, 0.9, 0.1, 0.1, 0.1, 0.9))}),
      ElementsAre("planner"));
}

TEST(Unbeaten, WithoutAValueOnAnAxisAPolicyTakesNoPart) {
  Values unmeasured = Axes(0.9, 0.9, 0.5, 1, 0.1, 0.9);
  unmeasured["hand_detail"] = std::nullopt;
  EXPECT_THAT(Unbeaten({TakeOf("follow", unmeasured), TakeOf("planner", Axes(0.8, 0.6, 1, 2, 0.2, 0.5))}),
              ElementsAre("planner"));
}

TEST(Summarise, FootageIsAMeanAndTheClosestApproachIsTheLeast) {
  const auto summary =
      Summarise({TakeOf("planner", Axes(0.9, 0.6, 1, 2, 0.2, 0.7), 1), TakeOf("planner", Axes(0.7, 0.6, 1, 2, 0.2, 0.05), 2),
                 TakeOf("planner", Axes(0.8, 0.6, 1, 2, 0.2, 0.9), 3)});
  ASSERT_EQ(summary.size(), 1u);
  EXPECT_EQ(summary[0].takes, 3u);
  EXPECT_NEAR(*summary[0].values[IndexOf("hand_visibility")], 0.8, 1e-15);  // three sums of rounding
  EXPECT_EQ(summary[0].values[IndexOf("closest_approach")], 0.05);
  EXPECT_EQ(summary[0].values[IndexOf("contacts")], std::nullopt);
}

TEST(Summarise, NoMetricOfSafetyIsAMean) {
  for (const char* name : {"closest_approach", "closest_approach_p5", "approach_speed", "separation_margin",
                           "contact_speed_margin", "contacts", "contact_force"}) {
    EXPECT_EQ(GatherOf(FindMetric(name)), Gather::kWorst) << name;
  }
  EXPECT_EQ(GatherOf(FindMetric("framing_error")), Gather::kMean);
}

TEST(Summarise, TakesWithNothingToMeasureAreLeftOutOfAMean) {
  Values unmeasured = Axes(0.9, 0.9, 0.5, 1, 0.1, 0.9);
  unmeasured["hand_detail"] = std::nullopt;
  const auto summary = Summarise({TakeOf("planner", unmeasured, 1), TakeOf("planner", Axes(0.8, 0.6, 1, 2, 0.2, 0.5), 2)});
  EXPECT_EQ(summary[0].values[IndexOf("hand_detail")], 0.6);
}

TEST(SummaryTable, NamesUnitDirectionAndMarkWithinTheWidthOfAPage) {
  std::vector<TakeScores> takes;
  for (const PolicyEntry& policy : Policies())
    takes.push_back(TakeOf(std::string(policy.name), Axes(0.8123, 0.6, 1234.5, 987.65, 0.2, -0.0412)));
  std::vector<PolicySummary> summary = Summarise(takes);
  MarkUnbeaten(&summary, kVisibilityFloor);
  const std::string table = SummaryTable(summary);
  EXPECT_THAT(table, AllOf(HasSubstr("m/s³"), HasSubstr("tolerances"), HasSubstr("higher"), HasSubstr("lower"),
                           HasSubstr("\n*  planner"), HasSubstr("\nk  reference"), HasSubstr("0.812"), HasSubstr("-0.041")));
  for (const std::string& text : {table, SummaryLegend(kVisibilityFloor)}) {
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) EXPECT_LE(DisplayWidth(line), 120u) << line;
  }
  for (const Metric& metric : Metrics()) EXPECT_THAT(FullTable(summary), HasSubstr(std::string(metric.name)));
}

TEST(SummaryTable, APolicyThatTouchedThePersonIsMarkedForIt) {
  Values touched = Axes(0.9, 0.9, 0.5, 1, 0.1, -0.02);
  touched["contacts"] = 1;
  Values clear = Axes(0.8, 0.6, 1, 2, 0.2, 0.5);
  clear["contacts"] = 0;
  std::vector<PolicySummary> summary =
      Summarise({TakeOf("follow", touched, 1), TakeOf("follow", clear, 2), TakeOf("planner", clear)});
  MarkUnbeaten(&summary, kVisibilityFloor);
  EXPECT_THAT(SummaryTable(summary), AllOf(HasSubstr("\n*!  follow"), HasSubstr("\n*   planner")));
}

TEST(SummaryTable, TwoSettingsOfOnePolicyAreToldApartByWhatDiffers) {
  std::vector<TakeScores> takes{TakeOf("follow", {}, 1), TakeOf("follow", {}, 2)};
  takes[0].id.params = "dead_band=0.05 gain=2";
  takes[1].id.params = "dead_band=0.1 gain=2";
  const std::string table = SummaryTable(Summarise(takes));
  EXPECT_THAT(table, AllOf(HasSubstr("follow:dead_band=0.05 "), HasSubstr("follow:dead_band=0.1 "), Not(HasSubstr("gain"))));
}

TEST(ResultsCsv, HasARowATakeAndReadsBackToTheSameBits) {
  const double value = 0.1 + 0.2;
  TakeScores take = TakeOf("planner", {{"closest_approach", value}});
  take.id.lesson = "a \"quoted\", lesson";
  const std::string csv = ResultsCsv({take, TakeOf("follow", {})});
  EXPECT_THAT(csv, AllOf(HasSubstr("closest_approach [m]"), HasSubstr("\n\"a \"\"quoted\"\", lesson\",planner,"),
                         HasSubstr(",0.30000000000000004,")));
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 3);
  EXPECT_EQ(std::stod("0.30000000000000004"), value);
  std::istringstream lines(csv);
  std::string header, quoted, plain;
  std::getline(lines, header);
  std::getline(lines, quoted);
  std::getline(lines, plain);
  EXPECT_EQ(std::count(header.begin(), header.end(), ','), std::count(plain.begin(), plain.end(), ','));
}

TEST(Differences, AreNamedAndEqualityIsToTheLastBit) {
  const std::vector<StoredScore> a{{"jerk", "m/s³", 0.3, 1.0, "x"}, {"occlusion", "", std::nullopt, std::nullopt, ""}};
  EXPECT_THAT(Differences(a, a), ElementsAre());
  std::vector<StoredScore> b = a;
  b[0].value = 0.1 + 0.2;
  EXPECT_THAT(Differences(a, b), ElementsAre(HasSubstr("jerk: stored 0.3, now 0.30000000000000004")));
  b = a;
  b[1].value = 0;
  EXPECT_THAT(Differences(a, b), ElementsAre(HasSubstr("occlusion: stored nothing to measure, now 0")));
  b = a;
  b[0].worst_t_s = 2;
  EXPECT_THAT(Differences(a, b), ElementsAre(HasSubstr("worst moment")));
  b.pop_back();
  EXPECT_THAT(Differences(a, b), Not(ElementsAre()));
}

}  // namespace
}  // namespace dryrig
