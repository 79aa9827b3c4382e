#include "bench/verdict.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <tinyxml2.h>

#include <cmath>

#include "scenes/error.h"
#include "sim/rng.h"

namespace dryrig {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Property;
using ::testing::Throws;

size_t IndexOf(std::string_view metric) {
  return static_cast<size_t>(&FindMetric(metric) - Metrics().data());
}

/// A value of which five per cent are twice the metric's tolerance or more.
double Typical(const Metric& metric) {
  return std::max(1.0, 2 * metric.step_tolerance.absolute / (0.05 - 2 * metric.step_tolerance.share));
}

/// Three lessons, two people, two seeds by one policy; every metric at its typical value, varied by a tenth by lesson and person.
std::vector<TakeScores> Takes(uint64_t first_seed = 1, const std::string& policy = "planner") {
  std::vector<TakeScores> out;
  RandomStream random(first_seed, "made-up scores");
  for (const char* lesson : {"baskets", "boxes", "brushes"}) {
    for (const char* person : {"ann", "bob"}) {
      for (const uint64_t seed : {first_seed, first_seed + 1}) {
        TakeScores take;
        take.id.lesson = lesson, take.id.person = person, take.id.policy = policy, take.id.seed = seed;
        take.id.sensing = "good", take.id.inputs_hash = "abc";
        for (const Metric& metric : Metrics()) {
          take.scores.push_back(
              {std::string(metric.name), std::string(metric.unit), Typical(metric) * (1 + 0.1 * random.Normal()), {}, ""});
        }
        out.push_back(take);
      }
    }
  }
  return out;
}

Baseline Of(const std::vector<TakeScores>& takes) {
  return MakeBaseline(takes, "a suite", "for a test", "");
}

double Sign(const Metric& metric) {
  return metric.direction == Direction::kUp ? -1 : 1;
}

TEST(Verdict, TheSameResultsPass) {
  const Verdict verdict = Judge(Of(Takes()), Of(Takes()), {});
  EXPECT_FALSE(verdict.failed());
  EXPECT_EQ(verdict.pairs, 12u);
}

// Planted: a metric of every take worse by 5 % give or take 0.5, over 100 disjoint pairs of seeds.
TEST(VerdictLong, FivePerCentWorseIsFoundInEveryMetric) {
  for (const Metric& metric : Metrics()) {
    if (metric.direction == Direction::kNeither) continue;
    const size_t m = IndexOf(metric.name);
    int found = 0;
    for (uint64_t set = 0; set < 100; ++set) {
      const std::vector<TakeScores> before = Takes(2 * set + 1);
      std::vector<TakeScores> now = before;
      RandomStream random(set, "worsening");
      for (TakeScores& take : now) *take.scores[m].value *= 1 + Sign(metric) * (0.05 + 0.005 * random.Normal());
      const Verdict verdict = Judge(Of(before), Of(now), {});
      bool named = false, others = false;
      for (const Finding& finding : verdict.findings) {
        if (finding.failed) (finding.metric == metric.name ? named : others) = true;
      }
      found += named && !others;
    }
    EXPECT_GE(found, 95) << metric.name;
  }
}

TEST(Verdict, BetterIsNotAlarming) {
  for (const Metric& metric : Metrics()) {
    std::vector<TakeScores> now = Takes();
    for (TakeScores& take : now) *take.scores[IndexOf(metric.name)].value *= 1 - Sign(metric) * 0.2;
    EXPECT_FALSE(Judge(Of(Takes()), Of(now), {}).failed()) << metric.name;
  }
}

// Noise of both signs about 0, as another processor's last digits or another seed of the sensors would give.
TEST(Verdict, UnchangedOnTheWholeSeldomAlarms) {
  int alarms = 0;
  for (uint64_t set = 0; set < 200; ++set) {
    const std::vector<TakeScores> before = Takes(2 * set + 1);
    std::vector<TakeScores> now = before;
    RandomStream random(set, "noise");
    for (TakeScores& take : now) {
      for (StoredScore& score : take.scores) *score.value *= 1 + 1e-9 * random.Normal();
    }
    alarms += Judge(Of(before), Of(now), {}).failed();
  }
  EXPECT_LE(alarms, 2);
}

// One take comes near: the mean over twelve hardly moves, the worst take tells.
TEST(Verdict, ANearMissInOneTakeIsNotHiddenByTheMean) {
  std::vector<TakeScores> before = Takes(), now;
  for (TakeScores& take : before) take.scores[IndexOf("closest_approach")].value = 0.3;
  now = before;
  now[5].scores[IndexOf("closest_approach")].value = 0.05;
  const Verdict verdict = Judge(Of(before), Of(now), {});
  ASSERT_TRUE(verdict.failed());
  for (const Finding& finding : verdict.findings) {
    if (!finding.failed) continue;
    EXPECT_EQ(finding.metric, "closest_approach");
    EXPECT_EQ(finding.kind, Finding::Kind::kWorst);
    EXPECT_THAT(finding.takes, ElementsAre(HasSubstr("boxes by planner with ann, sensing good, seed 2")));
  }
}

TEST(Verdict, ALimitIsHeldAgainstEveryTakeOfItsPolicies) {
  std::vector<TakeScores> takes = Takes();
  for (TakeScores& take : takes) take.scores[IndexOf("closest_approach")].value = 0.3;
  takes[0].scores[IndexOf("closest_approach")].value = 0.19;
  const Baseline results = Of(takes);
  HardLimit limit;
  limit.metric = "closest_approach", limit.at_least = 0.2;
  EXPECT_TRUE(Judge(results, results, {limit}).failed()) << "also when the baseline was no better";
  limit.at_least = 0.19;
  EXPECT_FALSE(Judge(results, results, {limit}).failed());
  limit.at_least = 0.2;
  limit.policies = {"tripod"};
  EXPECT_TRUE(Judge(results, results, {limit}).failed()) << "a limit that nothing is held against guards nothing";
}

TEST(Verdict, AMissingTakeFailsAndANewOneIsTold) {
  std::vector<TakeScores> fewer = Takes();
  fewer.pop_back();
  const Verdict missing = Judge(Of(Takes()), Of(fewer), {});
  EXPECT_TRUE(missing.failed());
  EXPECT_THAT(ToText(missing, Of(Takes())), HasSubstr("missing: brushes by planner with bob, sensing good, seed 2"));
  const Verdict added = Judge(Of(fewer), Of(Takes()), {});
  EXPECT_FALSE(added.failed());
  EXPECT_EQ(added.added, 1u);
}

TEST(Verdict, WhatHadAValueMustKeepHavingOne) {
  std::vector<TakeScores> now = Takes();
  now[3].scores[IndexOf("hand_detail")].value.reset();
  EXPECT_TRUE(Judge(Of(Takes()), Of(now), {}).failed());
  EXPECT_FALSE(Judge(Of(now), Of(now), {}).failed());
}

TEST(Verdict, WhatCannotBeComparedIsRefused) {
  const auto says = [](const std::string& text) { return Throws<RunError>(Property(&RunError::what, HasSubstr(text))); };
  Baseline other = Of(Takes());
  other.suite = "another";
  EXPECT_THAT([&] { Judge(Of(Takes()), other, {}); }, says("of suite \"a suite\", the results of \"another\""));
  other = Of(Takes());
  other.takes[0].inputs_hash = "def";
  EXPECT_THAT([&] { Judge(Of(Takes()), other, {}); }, says("has changed since the baseline"));
  EXPECT_THAT([&] { Judge(Of(Takes()), Of(Takes(100)), {}); }, says("no take in common"));
  other = Of(Takes());
  other.metrics.back() = "invented";
  EXPECT_THAT([&] { Judge(Of(Takes()), other, {}); }, says("invented"));
}

TEST(Baseline, ReadsBackAsWritten) {
  const Baseline baseline = MakeBaseline(Takes(), "a \"suite\"", "line\nbreak", R"({"git": "abc"})");
  const std::string text = ToText(baseline);
  const Baseline again = ParseBaseline(text, "b");
  EXPECT_EQ(ToText(again), text);
  EXPECT_EQ(again.suite, "a \"suite\"");
  EXPECT_EQ(again.takes.size(), 12u);
  EXPECT_FALSE(Judge(again, baseline, {}).failed()) << "nine digits are enough";
  EXPECT_EQ(std::count(text.begin(), text.end(), '\n'), 7 + 12) << "a line a take";
}

TEST(Baseline, BrokenFilesAreRefusedByName) {
  const std::string good = ToText(Of(Takes()));
  const auto refused = [](const std::string& text) {
    EXPECT_THAT([&] { ParseBaseline(text, "b.json"); }, Throws<InputError>(Property(&InputError::what, HasSubstr("b.json: "))));
  };
  for (size_t keep = 0; keep + 2 < good.size(); keep += 97) refused(good.substr(0, keep));
  const auto with = [&](const std::string& from, const std::string& to) {
    std::string text = good;
    text.replace(text.find(from), from.size(), to);
    return text;
  };
  refused(with("baseline/1", "baseline/2"));
  refused(with("\"seed\": 1", "\"seed\": \"one\""));
  refused(with("\"seed\": 2", "\"seed\": 1"));
  refused(with("\"values\": [", "\"values\": [1, "));
  refused("[]");
}

TEST(Gate, JUnitIsWellFormedAndCountsWhatFailed) {
  std::vector<TakeScores> now = Takes();
  for (TakeScores& take : now) *take.scores[IndexOf("jerk")].value *= 1.2;
  const Verdict verdict = Judge(Of(Takes()), Of(now), {});
  tinyxml2::XMLDocument document;
  ASSERT_EQ(document.Parse(ToJUnit(verdict, Of(Takes()), {"2026-03-01T09:30:00", "host"}).c_str()), tinyxml2::XML_SUCCESS);
  const tinyxml2::XMLElement* suite = document.FirstChildElement("testsuites")->FirstChildElement("testsuite");
  unsigned tests = 0, failures = 0;
  for (auto* test = suite->FirstChildElement("testcase"); test; test = test->NextSiblingElement("testcase")) {
    ++tests;
    failures += test->FirstChildElement("failure") != nullptr;
  }
  EXPECT_EQ(suite->UnsignedAttribute("tests"), tests);
  EXPECT_EQ(suite->UnsignedAttribute("failures"), failures);
  EXPECT_EQ(failures, 1u);
  const std::string markdown = ToMarkdown(verdict, Of(Takes()));
  EXPECT_THAT(markdown, HasSubstr("| planner: jerk |"));
  const size_t caution = markdown.find("\n> Caution");
  ASSERT_NE(caution, std::string::npos);
  EXPECT_EQ(markdown.find('\n', caution + 1), markdown.size() - 1) << "the caution is one quotation, to its end";
}

}  // namespace
}  // namespace dryrig
