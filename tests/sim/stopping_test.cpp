#include "sim/stopping.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

/// A stop integrated by small steps: acceleration ramps down at the jerk limit, holds, and ramps up again.
struct Integrated {
  double time_s, travel;
};
Integrated Integrate(double speed, double acceleration, double jerk) {
  const double peak = std::min(acceleration, std::sqrt(speed * jerk)), dt = 1e-5;
  double v = speed, a = 0, x = 0, t = 0;
  while (v > 1e-12 && t < 100) {
    const double to_shed = 0.5 * a * a / jerk;  // what the last ramp still takes off
    a = v > to_shed ? std::min(peak, a + jerk * dt) : std::max(jerk * dt, a - jerk * dt);
    v -= a * dt;
    x += v * dt;
    t += dt;
  }
  return {t, x};
}

// Steps of 10 µs and a speed that ends at 1e-12: the sum is good to about a thousandth.
TEST(Stopping, ClosedFormIsWhatSmallStepsGive) {
  for (const double speed : {0.05, 0.4, 1.0, 2.0}) {
    const Integrated sum = Integrate(speed, 6, 70);
    EXPECT_NEAR(StopTime_s(speed, 6, 70), sum.time_s, 2e-3) << speed;
    EXPECT_NEAR(StopTravel(speed, 6, 70, 10), sum.travel, 2e-3 * std::max(0.05, sum.travel)) << speed;
  }
}

TEST(Stopping, TravelNeverRunsBackAndEndsAtHalfSpeedTimesTime) {
  for (const double speed : {0.0, 0.02, 0.5, 2.2}) {
    const double whole_s = StopTime_s(speed, 5, 50);
    double last = 0;
    for (int i = 1; i <= 200; ++i) {
      const double now = StopTravel(speed, 5, 50, whole_s * i / 200);
      EXPECT_GE(now, last - 1e-12);
      last = now;
    }
    EXPECT_NEAR(last, 0.5 * speed * whole_s, 1e-12);
    EXPECT_EQ(StopTravel(speed, 5, 50, whole_s + 1), last) << "it stands";
  }
}

TEST(Stopping, AStillArmNeedsNoWayAndTheFastestJointSetsTheTime) {
  const ArmModel arm = test::SixAxes();
  const Stopper stopper(arm, Eigen::Isometry3d::Identity());
  const JointVector q = arm.home, none = JointVector::Zero(6);
  EXPECT_EQ(stopper.Plan(q, none).braking_s, 0);
  EXPECT_EQ(stopper.Plan(q, none).Travel().sum(), 0);
  JointVector rates = none;
  rates[0] = -1, rates[4] = 0.2;
  const StopPlan plan = stopper.Plan(q, rates);
  EXPECT_DOUBLE_EQ(plan.braking_s, StopTime_s(1, arm.joints[0].acceleration, arm.joints[0].jerk));
  EXPECT_NEAR(plan.At(q, 100)[0] - q[0], -(arm.servo.latency_s + 0.5 * plan.braking_s), 1e-12) << "goes on the way it went";
  EXPECT_EQ(plan.torque_share, 1);
}

// A joint too weak for its own acceleration limit brakes as softly as its effort allows, and so stops later.
TEST(Stopping, WeakDrivesBrakeSoftly) {
  ArmModel arm = test::SixAxes();
  const JointVector q = arm.home;
  JointVector rates = JointVector::Zero(6);
  rates[0] = 2;
  const Eigen::Isometry3d X_WB = Eigen::Isometry3d::Identity();
  const double inertia = MassMatrix(arm, q)(0, 0);
  arm.joints[0].effort = 0.5 * inertia * arm.joints[0].acceleration;
  const StopPlan plan = Stopper(arm, X_WB).Plan(q, rates);
  // About the vertical gravity does nothing; Coriolis torque of one turning joint on itself is none.
  EXPECT_NEAR(plan.torque_share, 0.5, 1e-6);
  EXPECT_GT(plan.braking_s, 1.5 * StopTime_s(2, arm.joints[0].acceleration, arm.joints[0].jerk));
}

}  // namespace
}  // namespace dryrig
