#include "sim/faults.h"

#include <gtest/gtest.h>

#include <cmath>

#include "policies/choice.h"
#include "sim/arm_world.h"
#include "sim/kinematics.h"
#include "sim/sensing.h"
#include "sim/startle.h"
#include "sim/take_json.h"
#include "sim/take_motion.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

/// A rod of 2 kg whose end is 0.6 m from a level axis, hanging out sideways: a pendulum at its hardest.
ArmModel Rod() {
  ArmModel arm = test::MakeArm("rod", {{{0, 0, 1}, Eigen::Vector3d::UnitY(), 2, -170, 170}});
  Link& link = arm.links[0];
  link.p_LCom = Eigen::Vector3d(0.3, 0, 0);
  link.I_LCom = Eigen::Vector3d(1e-3, 0.06, 0.06).asDiagonal();
  arm.X_EC.translation() = Eigen::Vector3d(0.6, 0, 0);
  return arm;
}
constexpr double kRodInertia = 0.06 + 2 * 0.3 * 0.3;    // about the axis, kg·m²
constexpr double kRodMoment = 2 * 0.3 * kGravity_mps2;  // of its weight, N·m

struct Driven {
  std::vector<double> q, qd;
};
Driven Drive(const ArmModel& arm, const Faults& faults, double for_s, double rate_wish = 0, double hz = 240) {
  const Stage stage = test::MakeLevelStage(arm);
  ArmWorld world(stage, {}, Eigen::VectorXd::Zero(arm.dof()), hz, faults);
  Driven run;
  JointSetPoint wish = test::Hold(Eigen::VectorXd::Zero(arm.dof()));
  for (int tick = 0; tick <= static_cast<int>(for_s * hz); ++tick) {
    run.q.push_back(world.q()[0]), run.qd.push_back(world.qd()[0]);
    wish.q[0] = rate_wish * tick / hz, wish.qd[0] = rate_wish;
    world.Step(wish, {});
  }
  return run;
}

// From rest, level: alpha = m g l / I. The engine lets a torque act from half a step before its tick, so n steps turn it by
// alpha dt² n (n + 1) / 2; within 1 %, for the lever has lost 0.8 % after 7°. Then 30 N·m less those of the weight stop it on
// v² / 2a, within a step's way.
TEST(Faults, WithoutPowerTheArmFallsAsARodDoesUntilItsBrakesClose) {
  Faults faults;
  faults.at_s = 0.1, faults.power_lost = true, faults.brake_delay_s = 0.1, faults.brake_share = 0.2;
  const Driven run = Drive(Rod(), faults, 1);
  const double alpha = kRodMoment / kRodInertia, fallen = alpha * 24 * 25 / 2 / (240 * 240), v = alpha * 24 / 240;
  EXPECT_NEAR(run.q[24], 0, 1e-6) << "held until then";
  EXPECT_NEAR(run.q[48], fallen, 0.01 * fallen);
  EXPECT_NEAR(run.q.back() - run.q[48], v * v / (2 * (30 - kRodMoment) / kRodInertia), v / 240);
  EXPECT_NEAR(run.q[60], run.q.back(), 1e-15) << "it stands";
  EXPECT_NEAR(run.qd.back(), 0, 1e-15) << "to the rounding of one step";
}

TEST(Faults, BrakesThatBearLessThanTheWeightLetTheArmSink) {
  Faults faults;
  faults.at_s = 0, faults.power_lost = true, faults.brake_delay_s = 0;
  faults.brake_share = 1.02 * kRodMoment / 150;
  EXPECT_NEAR(Drive(Rod(), faults, 0.5).q.back(), 0, 1e-9) << "2 % more than the weight holds";
  faults.brake_share = 0.5 * kRodMoment / 150;
  const double alpha = 0.5 * kRodMoment / kRodInertia;  // half of the weight is left
  EXPECT_NEAR(Drive(Rod(), faults, 0.1).q.back(), 0.5 * alpha * 0.01, 0.05 * 0.5 * alpha * 0.01);
}

// The servo knows nothing of it: it goes on asking the joint for its way, and the torques that it means for that pull at the
// others, so they are only asked to go on.
TEST(Faults, AStuckJointStandsWhereItStuckAndTheOthersGoOn) {
  const ArmModel arm = test::SixAxes();
  Faults faults;
  faults.at_s = 0.5, faults.stuck_joint = 2;
  ArmWorld world(test::MakeLevelStage(arm), {}, arm.home, 240, faults);
  JointSetPoint wish = test::Hold(arm.home);
  Eigen::VectorXd stuck;
  for (int tick = 0; tick < 480; ++tick) {
    const double t_s = tick / 240.0;
    wish.q = arm.home.array() + 0.2 * t_s, wish.qd.setConstant(0.2);
    if (tick == 125) stuck = world.q();  // after five steps: 1500 N·m stop an arm's half at 0.2 rad/s within one
    world.Step(wish, {});
  }
  EXPECT_EQ(world.q()[1], stuck[1]);
  EXPECT_NEAR(stuck[1], arm.home[1] + 0.2 * 0.5, 0.2 * 0.05) << "where it was, less the servo's lag";
  for (const int other : {0, 2, 3, 5}) EXPECT_GT(world.q()[other], stuck[other] + 0.1) << other;
}

// The servo stands where its spring bears what it does not know: kp · I · (q - wish) = the load's moment. Both taken at the
// pose where it stands; the rest is the solver's and below a thousandth.
TEST(Faults, UndeclaredPayloadSagsAsTheServosStiffnessSays) {
  const ArmModel rod = Rod();
  const Stage stage = test::MakeLevelStage(rod);
  Faults faults;
  faults.payload_kg = 0.5;
  const ArmModel loaded = LoadedArm(stage.arm, stage.camera, 0.5);
  const ArmDynamics known(stage.arm, stage.bench.X_WB), real(loaded, stage.bench.X_WB);
  const double sag = Drive(rod, faults, 3).q.back();
  JointVector q(1), none = JointVector::Zero(1), tau, tau_known;
  JointMatrix M;
  q[0] = sag;
  real.Torques(q, none, none, &tau);
  known.MassAndBias(q, none, &M, &tau_known);
  const double kp = std::pow(2 * M_PI * stage.arm.servo.bandwidth_hz, 2);
  EXPECT_GT(sag, 1e-4);
  EXPECT_NEAR(kp * M(0, 0) * sag, tau_known[0] - tau[0], 1e-3 * std::abs(tau[0]));
  EXPECT_EQ(Drive(rod, Faults(), 1).q.back(), 0) << "the twin without it stands where it is told";
}

TEST(Faults, LoadedArmHasTheLoadsWeightAtTheCamera) {
  const Stage stage = test::MakeLevelStage(test::SixAxes());
  const ArmModel loaded = LoadedArm(stage.arm, stage.camera, 1.5);
  const Link &was = stage.arm.links.back(), &now = loaded.links.back();
  EXPECT_DOUBLE_EQ(now.mass_kg, was.mass_kg + 1.5);
  const Eigen::Vector3d p = stage.arm.X_EC * stage.camera.p_CHousing;
  EXPECT_LT((now.mass_kg * now.p_LCom - was.mass_kg * was.p_LCom - 1.5 * p).norm(), 1e-12);
  // Parallel axes: about the link's origin both inertias differ by that of a point.
  const auto about_origin = [](const Link& link) -> Eigen::Matrix3d {
    const Eigen::Vector3d& r = link.p_LCom;
    return link.I_LCom + link.mass_kg * (r.squaredNorm() * Eigen::Matrix3d::Identity() - r * r.transpose());
  };
  const Eigen::Matrix3d point = 1.5 * (p.squaredNorm() * Eigen::Matrix3d::Identity() - p * p.transpose());
  EXPECT_LT((about_origin(now) - about_origin(was) - point).norm(), 1e-12);
}

TEST(Faults, ShovedBenchEndsWhereItWasShovedAndItsAccelerationIsItsMotions) {
  Faults faults;
  faults.at_s = 1, faults.bench_m = {0.1, -0.04};
  EXPECT_TRUE(BenchMoved(faults, 1).isZero(0));
  EXPECT_LT((BenchMoved(faults, 1.4) - Eigen::Vector3d(0.1, -0.04, 0)).norm(), 1e-15);
  constexpr double kStep_s = 1e-4;  // second differences: good to h² of the fourth derivative, 1e-4 m/s² here
  for (double t_s = 0.95; t_s < 1.5; t_s += 0.013) {
    const Eigen::Vector3d bend =
        (BenchMoved(faults, t_s + kStep_s) - 2 * BenchMoved(faults, t_s) + BenchMoved(faults, t_s - kStep_s)) /
        (kStep_s * kStep_s);
    EXPECT_LT((bend - BenchAcceleration(faults, t_s)).norm(), 2e-3) << t_s;
  }
}

class FaultsInATake : public ::testing::Test {
 protected:
  PreparedTake Prepared(const ParamValues& values) {
    TakeChoice choice;
    choice.lesson = "booklet";
    choice.policy = {"follow", values};
    PreparedTake out = Prepare(WithDefaults(choice, shelf_), shelf_);
    out.setup.max_s = 4;
    return out;
  }
  static Take Film(const PreparedTake& prepared) {
    const std::unique_ptr<Policy> policy = prepared.MakePolicy();
    return RunTake(prepared.setup, *policy);
  }
  SceneShelf shelf_;
};

TEST_F(FaultsInATake, EachIsInTheIdentityChangesTheTakeAndIsStoredAndStudied) {
  const Take sound = Film(Prepared({}));
  EXPECT_FALSE(sound.faults.any());
  for (const ParamValues& fault : std::vector<ParamValues>{{{"fault_stuck_joint", 1}},
                                                           {{"fault_tracker_frozen_s", 1}},
                                                           {{"fault_payload_kg", 1}},
                                                           {{"fault_power_lost", 1}},
                                                           {{"fault_bench_y_m", 0.05}}}) {
    const std::string name = fault.begin()->first;
    ParamValues values = fault;
    values["fault_at_s"] = 1;
    const PreparedTake prepared = Prepared(values);
    EXPECT_NE(prepared.setup.params.find(name), std::string::npos) << prepared.setup.params;
    const Take take = Film(prepared);
    EXPECT_TRUE(take.faults.any()) << name;
    EXPECT_EQ(take.faults.Told({"a", "b", "c", "d", "e", "f"}).size(), 1u) << name;
    EXPECT_NE(take.ticks.back().q, sound.ticks.back().q) << name;
    EXPECT_EQ(take.ticks.back().q, Film(prepared).ticks.back().q) << name << ": same bits each time";
    Take back;
    ReadTimelineJson(TimelineJson(take), &back);
    EXPECT_EQ(TimelineJson(back), TimelineJson(take)) << name;
    const Performance performance(prepared.setup.lesson, prepared.setup.stage.bench, prepared.setup.person, 1);
    EXPECT_NO_THROW(TakeMotion(take, prepared.setup.stage.arm, performance)) << name;
  }
}

TEST_F(FaultsInATake, AFrozenTrackerRepeatsItselfAsIfFresh) {
  const PreparedTake prepared = Prepared({});
  const TakeSetup& setup = prepared.setup;
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, 1);
  Faults faults;
  faults.at_s = 2, faults.tracker_frozen_s = 1;
  const Reaction person(performance, {}, faults);
  Sensors frozen(setup.sensing, setup.lesson, setup.stage.bench, performance, 1, &person);
  Sensors sound(setup.sensing, setup.lesson, setup.stage.bench, performance, 1);
  std::optional<Eigen::Vector3d> held;
  int same = 0;
  for (int k = 0; k <= 120; ++k) {
    const double t_s = k / 30.0;
    frozen.Sense(t_s), sound.Sense(t_s);
    EXPECT_EQ(frozen.person().stamp_s, sound.person().stamp_s);
    const double stamp_s = frozen.person().stamp_s;
    const Eigen::Vector3d& wrist = frozen.person().points[kWristR].p_W;
    if (stamp_s >= 2 && stamp_s < 3) {
      if (!held) held = wrist;
      same += wrist == *held;
      EXPECT_EQ(wrist, *held);
    } else {
      EXPECT_EQ(wrist, sound.person().points[kWristR].p_W) << t_s;
    }
  }
  EXPECT_GT(same, 25);
}

TEST_F(FaultsInATake, WhatNoArmOrRangeHasIsRefusedByName) {
  const auto refusal = [&](const ParamValues& values) {
    try {
      Prepared(values);
    } catch (const InputError& error) {
      return std::string(error.what());
    }
    return std::string("taken");
  };
  EXPECT_NE(refusal({{"fault_stuck_joint", 8}}).find("joint 8 is to stick"), std::string::npos);
  EXPECT_NE(refusal({{"fault_stuck_joint", 1.5}}).find("no whole number"), std::string::npos);
  EXPECT_NE(refusal({{"fault_payload_kg", -1}}).find("outside [0, 50] kg"), std::string::npos);
  EXPECT_NE(refusal({{"governor_late_stop_s", 1}}).find("needs governor=1"), std::string::npos);
  EXPECT_NE(refusal({{"fault_power_lst", 1}}).find("fault_power_lst"), std::string::npos);
}

}  // namespace
}  // namespace dryrig
