// Does a score depend on how finely the physics is stepped? Every policy on every shipped lesson at 240, 480 and 960 Hz.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <tuple>

#include "metrics/metric.h"
#include "tests/metrics/shipped_takes.h"

namespace dryrig::testing {
namespace {

/// Means of framing_error over the frames in which both subjects' centres are in the frame, or both out. Out of it the error is
/// the cap: of a subject that swings past the edge, one frame or two may fall to either side.
std::pair<double, double> BesideTheEdge(const Series& a, const Series& b) {
  const double cap = Tolerances{}.cap;
  double sum_a = 0, sum_b = 0;
  int both = 0, flipped = 0;
  for (size_t i = 0; i < a.values.size(); ++i) {
    if (std::isnan(a.values[i]) || std::isnan(b.values[i])) continue;
    if ((a.values[i] == cap) != (b.values[i] == cap)) {
      ++flipped;
      continue;
    }
    sum_a += a.values[i], sum_b += b.values[i];
    ++both;
  }
  EXPECT_LE(flipped, 2);
  return {sum_a / both, sum_b / both};
}

/// What two scorecards of one setup at different rates differ in beyond their metrics' tolerances.
std::vector<std::string> Differences(const Scorecard& coarse, const Scorecard& fine) {
  std::vector<std::string> out;
  for (size_t i = 0; i < Metrics().size(); ++i) {
    const Metric& metric = Metrics()[i];
    std::optional<double> a = coarse.scores[i].value, b = fine.scores[i].value;
    if (a && b && metric.name == "framing_error") {
      std::tie(a, b) = BesideTheEdge(coarse.scores[i].series, fine.scores[i].series);
    }
    if (a.has_value() != b.has_value()) {
      out.push_back(fmt::format("{}: null at one rate alone", metric.name));
    } else if (a && std::abs(*a - *b) > metric.step_tolerance.Allowed(*b)) {
      out.push_back(
          fmt::format("{}: {} against {}, {} {} allowed", metric.name, *a, *b, metric.step_tolerance.Allowed(*b), metric.unit));
    }
  }
  return out;
}

void CheckRates(const std::string& lesson, const std::string& policy, double max_s) {
  TakeSetup setup = ShippedSetup(lesson);
  setup.max_s = max_s;
  std::map<double, Scorecard> cards;
  for (const double physics_hz : {240.0, 480.0, 960.0}) {
    setup.physics_hz = physics_hz;
    cards[physics_hz] = ScoreTake(RunShipped(setup, policy));
  }
  for (const double physics_hz : {240.0, 480.0}) {
    for (const std::string& what : Differences(cards[physics_hz], cards[960.0])) {
      ADD_FAILURE() << policy << " on " << lesson << ", " << physics_hz << " against 960 Hz: " << what;
    }
  }
}

TEST(StepSize, ATenSecondTakeScoresTheSameAtThreeRates) {
  CheckRates("booklet", "planner", 10);
}

// Tolerances that anything would pass prove nothing: another seed's performance, the same lesson and policy, must not pass.
TEST(StepSize, TolerancesTellAnotherPerformance) {
  TakeSetup setup = ShippedSetup("booklet");
  setup.max_s = 20;
  const Scorecard first = ScoreTake(RunShipped(setup, "planner"));
  setup.seed = 2;
  EXPECT_GT(Differences(first, ScoreTake(RunShipped(setup, "planner"))).size(), 15u);
}

TEST(StepSizeLong, EveryPolicyOnEveryLessonScoresTheSameAtThreeRates) {
  for (const std::string& lesson : ListScenes(SceneKind::kLesson)) {
    const Lesson read = ReadLesson(FindScene(SceneKind::kLesson, lesson));
    if (read.set == LessonSet::kTest || read.beats.size() > 21) continue;  // the longer ones hold nothing else to integrate
    for (const PolicyEntry& policy : Policies()) CheckRates(lesson, std::string(policy.name), 0);
  }
}

}  // namespace
}  // namespace dryrig::testing
