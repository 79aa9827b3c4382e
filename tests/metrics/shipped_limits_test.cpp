#include <fmt/format.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/metrics/shipped_takes.h"

namespace dryrig::testing {
namespace {

/// The first tick and joint that pass a limit of position or speed; empty where none does.
std::string FirstBreach(const Take& take) {
  for (size_t i = 0; i < take.ticks.size(); ++i) {
    const TakeTick& tick = take.ticks[i];
    const double t_s = static_cast<double>(i) / take.id.physics_hz;
    for (size_t j = 0; j < take.joints.size(); ++j) {
      const JointLimit& joint = take.joints[j];
      const double q = tick.q[static_cast<Eigen::Index>(j)], qd = tick.qd[static_cast<Eigen::Index>(j)];
      if (q < joint.lower || q > joint.upper) {
        return fmt::format("{:.3f} s: {} at {} outside [{}, {}]", t_s, joint.name, q, joint.lower, joint.upper);
      }
      if (std::abs(qd) > joint.velocity) {
        return fmt::format("{:.3f} s: {} at {}/s over {}/s", t_s, joint.name, qd, joint.velocity);
      }
    }
  }
  return {};
}

class ShippedLimitsLong : public ::testing::TestWithParam<std::string> {};

// An arm that strikes the bench passes its speed limits, so this finds that too.
TEST_P(ShippedLimitsLong, NoPolicyTakesAnyJointPastALimitWithAnyPerson) {
  for (const auto& policy : Policies()) {
    TakeSetup setup = ShippedSetup(GetParam());
    // A camera that stands does so whoever is before it.
    const bool stands = policy.name == "tripod" || policy.name == "topdown";
    for (const std::string& person : stands ? std::vector{setup.lesson.person} : ListScenes(SceneKind::kPerson)) {
      setup.person = ReadPerson(FindScene(SceneKind::kPerson, person));
      EXPECT_EQ(FirstBreach(RunShipped(setup, policy.name)), "") << policy.name << " films " << person;
    }
    EXPECT_EQ(FirstBreach(RunShipped(ShippedSetup(GetParam(), "reed"), policy.name)), "") << policy.name << " with reed";
  }
}

INSTANTIATE_TEST_SUITE_P(EveryLesson, ShippedLimitsLong, ::testing::ValuesIn(ListScenes(SceneKind::kLesson)),
                         [](const auto& lesson) {
                           std::string name = lesson.param;
                           std::erase(name, '-');
                           return name;
                         });

TEST(ShippedLimits, ABreachOfOneTickIsFound) {
  Take take = RunShipped(ShippedSetup("booklet"), "tripod");
  EXPECT_EQ(FirstBreach(take), "");
  take.ticks[5].qd[1] = 1.001 * take.joints[1].velocity;
  EXPECT_NE(FirstBreach(take).find(take.joints[1].name), std::string::npos);
  take.ticks[3].q[0] = take.joints[0].lower - 1e-6;
  EXPECT_NE(FirstBreach(take).find(take.joints[0].name), std::string::npos);
}

}  // namespace
}  // namespace dryrig::testing
