// Does a score depend on how finely the physics is stepped? Every policy on every shipped lesson at 240, 480 and 960 Hz.
#include <gtest/gtest.h>

#include <map>

#include "metrics/metric.h"
#include "tests/metrics/shipped_takes.h"

namespace dryrig::testing {
namespace {

/// What two scorecards of one setup at different rates differ in beyond their metrics' tolerances.
std::vector<std::string> Differences(const Scorecard& coarse, const Scorecard& fine) {
  std::vector<std::string> out;
  for (size_t i = 0; i < Metrics().size(); ++i) {
    const Metric& metric = Metrics()[i];
    const auto& a = coarse.scores[i].value;
    const auto& b = fine.scores[i].value;
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
    for (const PolicyEntry& policy : Policies()) CheckRates(lesson, std::string(policy.name), 0);
  }
}

}  // namespace
}  // namespace dryrig::testing
