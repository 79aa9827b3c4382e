// The tracker against the quickest that limits allow: time-optimal rest-to-rest motion under velocity, acceleration and jerk
// limits in closed form (Biagiotti & Melchiorri, "Trajectory Planning for Automatic Machines and Robots", ch. 3: from memory).
#include <gtest/gtest.h>

#include <cmath>

#include "sim/joint_brake.h"
#include "sim/tracker.h"
#include "tests/outside/listed.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

constexpr double kPeriod_s = 1.0 / 30;

/// For v·j >= a².
double LeastTime(double D, double v, double a, double j) {
  const double ramp = a / j + v / a;
  if (D >= v * ramp) return D / v + ramp;
  if (D >= 2 * a * a * a / (j * j)) return a / j + std::sqrt(a * a / (j * j) + 4 * D / a);
  return 4 * std::cbrt(D / (2 * j));
}

struct Row {
  double D, T;
};
// v = 0.5, a = 1, j = 5; both edges between the cases at D = 0.35 and 0.08. Calculated by exact integration of the profiles.
constexpr Row kTable[] = {{1, 2.7}, {0.35, 1.4}, {0.2, 1.116515}, {0.08, 0.8}, {0.05, 0.683990}};

TEST(JerkLimited, TheClosedFormIsTheTable) {
  for (const Row& row : kTable) EXPECT_NEAR(LeastTime(row.D, 0.5, 1, 5), row.T, 1e-6) << row.D;
}

Stage OneJoint() {
  ArmModel arm = test::MakeArm("one", {{{0, 0, 0}, Eigen::Vector3d::UnitZ(), 1, -170, 170}});
  arm.joints[0].velocity = 0.5;
  arm.joints[0].acceleration = 1;
  arm.joints[0].jerk = 5;
  return test::MakeTestStage(arm);
}

TEST(JerkLimited, TheTrackerIsNeverQuickerAndLessThanTwiceAsLong) {
  const Stage stage = OneJoint();
  for (const Row& row : kTable) {
    Tracker tracker(stage, stage.arm.home, 1 / kPeriod_s);
    Move move;
    move.motion = JointTarget{Eigen::VectorXd::Constant(1, row.D)};
    int periods = 0;
    JointSetPoint at;
    do {
      tracker.Follow(move);
      tracker.Advance();
      tracker.At(0, &at);
      ++periods;
    } while ((at.qd[0] != 0 || at.qdd[0] != 0) && periods < 300);
    EXPECT_NEAR(at.q[0], row.D, 1e-9);
    EXPECT_GT(periods * kPeriod_s, row.T) << row.D;
    EXPECT_LT(periods * kPeriod_s, 2 * row.T) << row.D;
  }
}

/// The rail alone, at full throttle toward a wall at D: as quick as limits allow but for whole control periods.
TEST(JerkLimited, AtFullThrottleItIsNearlyTheQuickest) {
  for (const Row& row : kTable) {
    JointRail rail({0, row.D, 0.5, 1, 5}, 0, kPeriod_s);
    int periods = 0;
    do {
      rail.Choose(1e6);
      rail.Advance();
      ++periods;
    } while (rail.now().q < 0.99 * row.D && periods < 300);
    // The last hundredth of the way takes 4∛(0.01 D/2j)/2 of the braking, at least; so much sooner it may be there.
    EXPECT_GT(periods * kPeriod_s, row.T - 2 * std::cbrt(0.02 * row.D / 5)) << row.D;
    EXPECT_LT(periods * kPeriod_s, 1.2 * row.T + 2 * kPeriod_s) << row.D;
  }
}

}  // namespace
}  // namespace dryrig
