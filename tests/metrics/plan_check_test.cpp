// A take's joint motion as a controller would get it, and the check that stands before it is written: each limit is broken once.
#include "metrics/plan_check.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "scenes/error.h"
#include "sim/kinematics.h"
#include "sim/spline_track.h"
#include "tests/metrics/shipped_takes.h"

namespace dryrig {
namespace {

using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

/// Four seconds of a shipped lesson with a policy that moves at once.
struct Filmed {
  TakeSetup setup;
  Take take;
  Performance performance;

  Filmed() : setup(Setup()), take(testing::RunShipped(setup, "follow")), performance(PerformanceOf(setup)) {}
  static TakeSetup Setup() {
    TakeSetup setup = testing::ShippedSetup("booklet", "heron", "prime");
    setup.max_s = 4;
    return setup;
  }
  static Performance PerformanceOf(const TakeSetup& s) { return {s.lesson, s.stage.bench, s.person, s.seed}; }
  const ArmModel& arm() const { return setup.stage.arm; }
  /// Parked away from home, so that there is a way to go.
  JointPlanSpec Spec(double rate_hz = 250) const {
    JointPlanSpec spec;
    spec.rate_hz = rate_hz;
    spec.parking = arm().home;
    spec.parking[0] += 0.3;
    return spec;
  }
  JointPlan Plan(double rate_hz = 250) const { return PlanJoints(take, arm(), Spec(rate_hz)); }
  PlanCheck Check(const JointPlan& plan, double least_m = 0.1) const {
    // Its shapes overlap when the wrist bends far.
    return CheckPlan(take, arm(), performance, plan, least_m, {{"flange", "wrist_tube"}});
  }
};
const Filmed& TheTake() {
  static const Filmed filmed;
  return filmed;
}

TEST(SplineRates, AreThoseOfTheCurve) {
  // A straight line and its rates are exact everywhere, a sine's right to the order of the step.
  std::vector<double> rows;
  const double step = 0.05;
  for (int i = 0; i <= 200; ++i) rows.insert(rows.end(), {3.0 * i, std::sin(step * i)});
  const SplineTrack track(rows, 2);
  for (const double u : {20.0, 77.3, 150.5, 179.999}) {
    double first[2], second[2];
    track.RatesAt(u, first, second);
    EXPECT_NEAR(first[0], 3, 1e-12);
    EXPECT_NEAR(second[0], 0, 1e-12);
    EXPECT_NEAR(first[1] / step, std::cos(step * u), 1e-6);             // h⁴/180 = 3.5e-8, and printing's room
    EXPECT_NEAR(second[1] / (step * step), -std::sin(step * u), 3e-4);  // h²/12 = 2.1e-4
  }
}

TEST(JointPlan, BetweenTwoPointsIsThePolynomialOfTheFifthOrder) {
  // 1 + 2t + 3t² + 4t³ + 5t⁴ + 6t⁵ from 0.5 s to 0.9 s: two points determine it.
  const auto at = [](double t) {
    JointPoint p{JointVector(1), JointVector(1), JointVector(1)};
    p.q[0] = 1 + t * (2 + t * (3 + t * (4 + t * (5 + t * 6))));
    p.qd[0] = 2 + t * (6 + t * (12 + t * (20 + t * 30)));
    p.qdd[0] = 6 + t * (24 + t * (60 + t * 120));
    return p;
  };
  for (const double share : {0.0, 0.25, 0.6, 1.0}) {
    const JointPoint got = Between(at(0.5), at(0.9), 0.4, share), want = at(0.5 + 0.4 * share);
    EXPECT_NEAR(got.q[0], want.q[0], 1e-12);
    EXPECT_NEAR(got.qd[0], want.qd[0], 1e-11);
    EXPECT_NEAR(got.qdd[0], want.qdd[0], 1e-10);
  }
}

TEST(JointPlan, GoesFromRestInParkingThroughTheTakeToRestInParking) {
  const Filmed& f = TheTake();
  for (const double rate_hz : {100.0, 250.0, 1000.0}) {
    const JointPlan plan = f.Plan(rate_hz);
    for (const JointPoint* end : {&plan.points.front(), &plan.points.back()}) {
      EXPECT_LT((end->q - f.Spec().parking).cwiseAbs().maxCoeff(), 1e-9) << rate_hz;
      EXPECT_TRUE(end->qd.isZero(0));
      EXPECT_TRUE(end->qdd.isZero(0));
    }
    // 250 Hz and the take's 240 Hz meet every 0.1 s: there the plan is the take's own set point, but for rounding.
    for (double t_s = 0; t_s < plan.film_s; t_s += 0.1) {
      const auto point = static_cast<size_t>(std::lround((plan.lead_s + t_s) * rate_hz));
      const auto tick = static_cast<size_t>(std::lround(t_s * f.take.id.physics_hz));
      EXPECT_LT((plan.points[point].q - f.take.ticks[tick].q_wish).cwiseAbs().maxCoeff(), 2e-9) << t_s;
    }
  }
}

TEST(JointPlan, VelocityIsThePositionsSlopeAndAccelerationTheVelocitys) {
  const JointPlan plan = TheTake().Plan(1000);
  double most_v = 0, most_a = 0;
  for (size_t i = 1; i + 1 < plan.points.size(); ++i) {
    const JointPoint &a = plan.points[i - 1], &b = plan.points[i], &c = plan.points[i + 1];
    // Central differences over 1 ms: off by jerk·h²/6, jerk below 100 rad/s³ with a step at most; rounding 1e-9/2h = 5e-7.
    most_v = std::max(most_v, ((c.q - a.q) * 500 - b.qd).cwiseAbs().maxCoeff());
    // Where the jerk steps by up to 100 rad/s³ the mean slope is off by h/4 of that.
    most_a = std::max(most_a, ((c.qd - a.qd) * 500 - b.qdd).cwiseAbs().maxCoeff());
  }
  EXPECT_LT(most_v, 1e-4);
  EXPECT_LT(most_a, 0.06);
}

TEST(JointPlan, TheWayFromParkingIsSlow) {
  const Filmed& f = TheTake();
  const JointPlan plan = f.Plan();
  // A quarter of a metre a second: 0.3 rad at home's reach of 0.5 m is 0.15 m at least, its mean speed 1/1.875 of the peak.
  EXPECT_GT(plan.lead_s, 1.875 * 0.15 / 0.25);
  JointPlanSpec slow = f.Spec();
  slow.most_approach_mps = 0.1;
  EXPECT_GT(PlanJoints(f.take, f.arm(), slow).lead_s, 2 * plan.lead_s);
  JointPlanSpec home = f.Spec();
  home.parking = f.arm().home;
  EXPECT_EQ(PlanJoints(f.take, f.arm(), home).lead_s, 0);
}

TEST(JointPlan, AParkingPostureOutsideTheRangeIsRefused) {
  const Filmed& f = TheTake();
  JointPlanSpec spec = f.Spec();
  spec.parking[1] = 7;
  try {
    PlanJoints(f.take, f.arm(), spec);
    ADD_FAILURE() << "taken";
  } catch (const InputError& error) {
    EXPECT_THAT(error.what(), HasSubstr("joint shoulder at 401.1 deg is outside its range"));
  }
}

TEST(PlanCheck, AShippedTakeBreaksNothing) {
  const PlanCheck check = TheTake().Check(TheTake().Plan());
  EXPECT_THAT(check.breaches, IsEmpty()) << check.breaches.front().what;
  EXPECT_GT(check.velocity_share, 0.05);
  EXPECT_LT(check.velocity_share, 1);
  EXPECT_GT(check.torque_share, 0.05);
  EXPECT_LT(check.torque_share, 1);
}

struct Broken {
  const char* what;
  void (*breaks)(JointPlan* plan);
  const char* says;
};
TEST(PlanCheck, EachLimitIsNamedWhereATwinBreaksIt) {
  const Filmed& f = TheTake();
  const std::vector<Broken> rows{
      {"beyond the range", [](JointPlan* p) { p->points[300].q[3] = 9; }, "joint elbow: position"},
      {"below the range", [](JointPlan* p) { p->points[300].q[1] = -9; }, "joint shoulder: position"},
      {"too fast", [](JointPlan* p) { p->points[300].qd[6] = -20; }, "joint spin: velocity"},
      {"too sudden", [](JointPlan* p) { p->points[300].qdd[2] = 60; }, "joint swing: acceleration"},
      {"a jump between two points only", [](JointPlan* p) { p->points[300].q[5] += 0.01; }, "joint bend: velocity"},
      {"too heavy", [](JointPlan* p) { p->points[300].qdd[1] = 5000; }, "joint shoulder: torque"},
  };
  for (const Broken& row : rows) {
    JointPlan plan = f.Plan();
    row.breaks(&plan);
    const PlanCheck check = f.Check(plan);
    EXPECT_THAT(check.breaches, Contains(Field(&PlanBreach::what, row.says))) << row.what;
    for (const PlanBreach& breach : check.breaches) {
      if (breach.what == row.says) {
        EXPECT_NEAR(breach.t_s, 300 / 250.0, 0.005) << row.what;
      }
    }
  }
}

TEST(PlanCheck, TheBenchAndTheArmItselfMayNotBeTouched) {
  const Filmed& f = TheTake();
  JointPlanSpec spec = f.Spec();
  spec.parking = f.arm().home;
  spec.parking[1] = 1.9;  // leans over until the elbow is below the bench's top
  const PlanCheck check = f.Check(PlanJoints(f.take, f.arm(), spec));
  EXPECT_THAT(check.breaches, Contains(Field(&PlanBreach::what, HasSubstr("bench"))));
  // Not told that the two are built together, it holds the flange against the wrist.
  const PlanCheck strict = CheckPlan(f.take, f.arm(), f.performance, f.Plan(), 0.1);
  EXPECT_THAT(strict.breaches, Contains(Field(&PlanBreach::what, "flange – wrist_tube: distance")));
  EXPECT_THROW(CheckPlan(f.take, f.arm(), f.performance, f.Plan(), 0.1, {{"flansh", "wrist_tube"}}), InputError);
}

TEST(PlanCheck, ThePersonAsRecordedMustStayAway) {
  const Filmed& f = TheTake();
  const JointPlan plan = f.Plan();
  // All pairs at every point, without bounds.
  double least_m = 10;
  for (size_t i = 0; i < plan.points.size(); ++i) {
    std::vector<Eigen::Isometry3d> X_WL;
    LinkPoses(f.arm(), plan.points[i].q, &X_WL);
    for (Eigen::Isometry3d& X : X_WL) X = f.take.X_WB * X;
    const BodyPose pose = f.performance.PoseAt(plan.TimeOf(i) - plan.lead_s);
    least_m = std::min(least_m, NearestToPerson(f.take.arm_bodies, X_WL, f.take.person, pose).distance_m);
  }
  ASSERT_LT(least_m, kPlanWatch_m);
  const PlanCheck check = f.Check(plan);
  EXPECT_LE(check.nearest_m, least_m);
  EXPECT_GT(check.nearest_m, least_m - 0.01);  // between points 4 ms apart both could have come a little nearer
  const PlanCheck broken = f.Check(plan, least_m + 0.001);
  ASSERT_FALSE(broken.breaches.empty());
  EXPECT_EQ(broken.breaches[0].limit, least_m + 0.001);
  EXPECT_THAT(broken.breaches[0].what, HasSubstr(": distance"));
  EXPECT_THAT(f.Check(plan, check.nearest_m - 1e-9).breaches, IsEmpty());
}

TEST(PlanCheck, AnotherPersonsPerformanceIsRefused) {
  const Filmed& f = TheTake();
  const Performance other(f.setup.lesson, f.setup.stage.bench, f.setup.person, f.setup.seed + 1);
  EXPECT_THROW(CheckPlan(f.take, f.arm(), other, f.Plan(), 0.1), RunError);
}

}  // namespace
}  // namespace dryrig
