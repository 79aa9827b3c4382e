#include "sim/arm_world.h"

#include <gmock/gmock.h>

#include <Eigen/Cholesky>
#include <cmath>

#include "scenes/error.h"
#include "sim/arm_dynamics.h"
#include "sim/kinematics.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::MatrixXd;
using Eigen::Vector3d;
using Eigen::VectorXd;
using test::kDeg;
using test::PotentialEnergy;
using test::TestArms;

/// The engine's own step against ours, from random states reached by falling.
TEST(ArmWorld, FallsAsItsOwnEquationsOfMotionSay) {
  RandomStream random(4, "free motion");
  for (const ArmModel& model : TestArms()) {
    SCOPED_TRACE(model.name);
    const Stage stage = test::MakeTestStage(test::Limp(model));
    const double dt_s = 1.0 / 1000;
    const VectorXd q0 = test::RandomPosture(model, &random, 0.5);
    ArmWorld world(stage, {}, q0, 1 / dt_s);
    const ArmDynamics dynamics(stage.arm, stage.bench.X_WB);
    VectorXd q = q0, v = VectorXd::Zero(model.dof());
    v = dt_s / 2 * MassMatrix(model, q).llt().solve(InverseDynamics(model, stage.bench.X_WB, q, v, v));  // half a step earlier
    double fastest = 0;
    for (int step = 0; step < 300; ++step) {
      JointMatrix M;
      JointVector h;
      dynamics.MassAndBias(q, v, &M, &h);
      v += dt_s * MatrixXd(M).llt().solve(VectorXd(-h));
      q += dt_s * v;
      world.Step(test::Hold(q0), {});
      ASSERT_LT((world.q() - q).cwiseAbs().maxCoeff(), 1e-9) << "step " << step;
      fastest = std::max(fastest, v.cwiseAbs().maxCoeff());
    }
    EXPECT_GT(fastest, 2);  // rad/s: velocity terms took part
  }
}

TEST(ArmWorld, StandsWhereItsSetPointStands) {
  for (const ArmModel& arm : TestArms()) {
    SCOPED_TRACE(arm.name);
    for (const double hz : {120.0, 240.0, 1000.0}) {
      const Stage stage = test::MakeTestStage(arm, 0.6);
      ArmWorld world(stage, {}, arm.home, hz);
      for (int i = 0; i < hz; ++i) world.Step(test::Hold(arm.home), {});
      EXPECT_LT((world.q() - arm.home).cwiseAbs().maxCoeff(), 1e-9);
      EXPECT_LT(world.qd().cwiseAbs().maxCoeff(), 1e-9);
    }
  }
}

TEST(ArmWorld, LinkAndCameraPosesAreThoseOfItsPosture) {
  const Stage stage = test::MakeTestStage(test::SevenAxes(), 0.6);
  ArmWorld world(stage, {}, stage.arm.home, 240);
  JointSetPoint wish = test::Hold(stage.arm.home);
  wish.q.array() += 0.2;
  for (int i = 0; i < 60; ++i) world.Step(wish, {});
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage.arm, world.q(), &X_BL);
  ASSERT_EQ(world.X_WL().size(), X_BL.size());
  for (size_t i = 0; i < X_BL.size(); ++i) EXPECT_TRUE(world.X_WL()[i].isApprox(stage.bench.X_WB * X_BL[i], 1e-12));
  EXPECT_TRUE(world.X_WC().isApprox(stage.bench.X_WB * CameraPose(stage.arm, world.q()), 1e-12));
}

/// A position loop of natural frequency w and damping ratio 1 lets an offset die as e0 (1 + w t) exp(-w t), whatever the arm.
TEST(ArmWorld, OffsetDiesAtTheServosBandwidth) {
  for (const double hz : {240.0, 480.0, 960.0}) {
    Stage stage = test::MakeTestStage(test::SixAxes(), 0.6);
    for (Joint& joint : stage.arm.joints) joint.effort = 1e6;
    stage.arm.servo.bandwidth_hz = 6;
    stage.arm.servo.latency_s = 0;
    const double w = 2 * std::numbers::pi * 6, e0 = 0.05;
    const VectorXd start = stage.arm.home.array() - e0;
    ArmWorld world(stage, {}, start, hz);
    for (int i = 1; i <= 0.3 * hz; ++i) {
      world.Step(test::Hold(stage.arm.home), {});
      const double wt = w * i / hz, left = e0 * (1 + wt) * std::exp(-wt);
      // Second order in the step: relative error near (w dt)²/12, 0.2 % at 240 Hz.
      for (int j = 0; j < stage.arm.dof(); ++j)
        ASSERT_NEAR(stage.arm.home[j] - world.q()[j], left, 2e-3 * e0) << hz << " Hz, step " << i;
    }
  }
}

TEST(ArmWorld, SagsByTheWeightItDoesNotKnow) {
  for (const ArmModel& bare : {test::SixAxes(), test::SevenAxes()}) {
    SCOPED_TRACE(bare.name);
    const double share = 0.4, camera_kg = 1.5;
    Stage stage = test::MakeTestStage(bare, camera_kg);
    stage.arm.servo.payload_known = share;
    // The arm as its servo knows it: one that carries a camera of that share of the mass.
    CameraBody lighter = stage.camera;
    lighter.mass_kg = share * camera_kg;
    const ArmModel known = WithCamera(bare, lighter);
    const double w = 2 * std::numbers::pi * stage.arm.servo.bandwidth_hz;
    for (const double hz : {120.0, 240.0, 960.0}) {
      ArmWorld world(stage, {}, bare.home, hz);
      const VectorXd start = world.q();
      for (int i = 0; i < 3 * hz; ++i) world.Step(test::Hold(bare.home), {});
      EXPECT_LT((world.q() - start).cwiseAbs().maxCoeff(), 1e-9);  // it sagged before the take
      const VectorXd q = world.q(), zero = VectorXd::Zero(q.size());
      const VectorXd missing =
          InverseDynamics(stage.arm, stage.bench.X_WB, q, zero, zero) - InverseDynamics(known, stage.bench.X_WB, q, zero, zero);
      const VectorXd sag = MassMatrix(known, q).llt().solve(missing) / (w * w);
      EXPECT_LT((bare.home - q - sag).cwiseAbs().maxCoeff(), 1e-9);
      EXPECT_GT(sag.cwiseAbs().maxCoeff(), 1e-3);  // a sag a camera can see
      EXPECT_LT(world.qd().cwiseAbs().maxCoeff(), 1e-9);
    }
  }
}

TEST(ArmWorld, LagsARampByItsLatencyAtAnyRate) {
  Stage stage = test::MakeTestStage(test::SixAxes(), 0.6);
  for (Joint& joint : stage.arm.joints) joint.effort = 1e6;
  const double rate = 0.2;
  for (const double latency_s : {0.0, 0.008, 0.0125, 0.05}) {
    stage.arm.servo.latency_s = latency_s;
    for (const double hz : {120.0, 240.0, 1000.0}) {
      ArmWorld world(stage, {}, stage.arm.home, hz);
      JointSetPoint wish = test::Hold(stage.arm.home);
      wish.qd.setConstant(rate);
      const int steps = static_cast<int>(1.5 * hz);
      for (int i = 0; i < steps; ++i) {
        wish.q = stage.arm.home.array() + rate * i / hz;
        world.Step(wish, {});
      }
      const VectorXd there = stage.arm.home.array() + rate * (steps / hz - latency_s);
      EXPECT_LT((world.q() - there).cwiseAbs().maxCoeff(), 1e-9) << latency_s << " s at " << hz << " Hz";
      EXPECT_LT((world.qd().array() - rate).abs().maxCoeff(), 1e-8);
    }
  }
}

TEST(ArmWorld, TooLittleTorqueIsCappedAndSeen) {
  Stage stage = test::MakeLevelStage(test::SixAxes(), 0.6);
  const VectorXd q0 = (VectorXd(6) << 0, 90, 0, 0, 0, 0).finished() * kDeg;  // stretched out level
  const VectorXd zero = VectorXd::Zero(6);
  const double needed = std::abs(InverseDynamics(stage.arm, stage.bench.X_WB, q0, zero, zero)[1]);
  stage.arm.joints[1].effort = 0.5 * needed;
  ArmWorld world(stage, {}, q0, 240);
  for (int i = 0; i < 48; ++i) {
    world.Step(test::Hold(q0), {});
    for (int j = 0; j < 6; ++j) EXPECT_LE(std::abs(world.torque()[j]), stage.arm.joints[j].effort);
  }
  EXPECT_DOUBLE_EQ(std::abs(world.torque()[1]), 0.5 * needed);
  EXPECT_GT(world.q()[1] - q0[1], 5 * kDeg);  // it falls

  stage.arm.joints[1].effort = 2 * needed;
  ArmWorld strong(stage, {}, q0, 240);
  for (int i = 0; i < 48; ++i) strong.Step(test::Hold(q0), {});
  EXPECT_NEAR(std::abs(strong.torque()[1]), needed, 1e-6 * needed);
  EXPECT_NEAR(strong.q()[1], q0[1], 1e-9);
}

TEST(ArmWorld, DampingAndFrictionCostTorqueNotTracking) {
  Stage smooth = test::MakeTestStage(test::SixAxes(), 0.6);
  for (Joint& joint : smooth.arm.joints) joint.effort = 1e6;
  Stage rough = smooth;
  const double damping = 5, friction = 3, rate = 0.2;  // far more than the wrist's inertia would bear explicitly
  for (Joint& joint : rough.arm.joints) {
    joint.damping = damping;
    joint.friction = friction;
  }
  ArmWorld easy(smooth, {}, smooth.arm.home, 240), hard(rough, {}, rough.arm.home, 240);
  JointSetPoint wish = test::Hold(smooth.arm.home);
  wish.qd.setConstant(rate);
  for (int i = 0; i < 240; ++i) {
    wish.q = smooth.arm.home.array() + rate * i / 240;
    easy.Step(wish, {});
    hard.Step(wish, {});
  }
  EXPECT_LT((easy.q() - hard.q()).cwiseAbs().maxCoeff(), 1e-9);
  EXPECT_LT((hard.torque() - easy.torque() - VectorXd::Constant(6, damping * rate + friction)).cwiseAbs().maxCoeff(), 1e-6);
}

TEST(ArmWorld, WithoutTorqueDampedJointsComeToRest) {
  Stage stage = test::MakeTestStage(test::Limp(test::SixAxes()));
  for (Joint& joint : stage.arm.joints) {
    joint.damping = 1;  // the wrist's inertia at 120 Hz would bear 0.7 explicitly
    joint.continuous = true;
  }
  ArmWorld world(stage, {}, stage.arm.home, 120);
  double energy = PotentialEnergy(stage, stage.arm.home);
  const double start = energy;
  for (int i = 0; i < 180 * 120; ++i) {
    world.Step(test::Hold(stage.arm.home), {});
    const double now = PotentialEnergy(stage, world.q()) + 0.5 * world.qd().dot(MassMatrix(stage.arm, world.q()) * world.qd());
    ASSERT_LT(now, energy + 1e-2) << "step " << i;  // 1e-2 J: second order in the step
    energy = now;
  }
  EXPECT_LT(energy, start - 1);
  EXPECT_LT(world.qd().cwiseAbs().maxCoeff(), 1e-3);
}

TEST(ArmWorld, StopsHoldWhatFallsOnThem) {
  Stage stage = test::MakeLevelStage(test::Limp(test::SixAxes()));
  VectorXd q0 = VectorXd::Zero(6);
  q0[1] = 60 * kDeg;
  for (const double hz : {120.0, 240.0, 960.0}) {
    ArmWorld world(stage, {}, q0, hz);
    bool reached = false;
    for (int i = 0; i < 20 * hz; ++i) {
      world.Step(test::Hold(q0), {});
      for (int j = 0; j < 6; ++j) {
        ASSERT_LE(world.q()[j], stage.arm.joints[j].upper + 1e-9) << "joint " << j << " step " << i;
        ASSERT_GE(world.q()[j], stage.arm.joints[j].lower - 1e-9) << "joint " << j << " step " << i;
      }
      reached = reached || world.q()[1] > stage.arm.joints[1].upper - 1e-6;
    }
    EXPECT_TRUE(reached);
  }
  // Without stops the same fall passes the limit: the check above can fail.
  for (Joint& joint : stage.arm.joints) joint.continuous = true;
  ArmWorld world(stage, {}, q0, 240);
  double furthest = 0;
  for (int i = 0; i < 240; ++i) {
    world.Step(test::Hold(q0), {});
    furthest = std::max(furthest, world.q()[1]);
  }
  EXPECT_GT(furthest, stage.arm.joints[1].upper + 10 * kDeg);
}

/// A smooth set point with known derivatives: sums of sines that start at rest.
JointSetPoint Waves(const VectorXd& home, double t_s) {
  const int n = static_cast<int>(home.size());
  JointSetPoint wish = test::Hold(home);
  for (int i = 0; i < n; ++i) {
    const double w = 1.5 + 0.4 * i, amplitude = 0.3;
    const double ramp = t_s < 1 ? t_s * t_s * t_s * (10 - 15 * t_s + 6 * t_s * t_s) : 1;
    const double ramp1 = t_s < 1 ? 30 * t_s * t_s * (1 - t_s) * (1 - t_s) : 0;
    const double ramp2 = t_s < 1 ? 60 * t_s * (1 - t_s) * (1 - 2 * t_s) : 0;
    const double s = std::sin(w * t_s), c = std::cos(w * t_s);
    wish.q[i] += amplitude * ramp * s;
    wish.qd[i] = amplitude * (ramp1 * s + ramp * w * c);
    wish.qdd[i] = amplitude * (ramp2 * s + 2 * ramp1 * w * c - ramp * w * w * s);
  }
  return wish;
}

std::vector<VectorXd> FollowWaves(const Stage& stage, double hz, double for_s) {
  ArmWorld world(stage, {}, stage.arm.home, hz);
  std::vector<VectorXd> at_120_hz;
  const int every = static_cast<int>(hz / 120);
  for (int i = 0; i < for_s * hz; ++i) {
    if (i % every == 0) at_120_hz.push_back(world.q());
    world.Step(Waves(stage.arm.home, i / hz), {});
  }
  return at_120_hz;
}

double Apart(const std::vector<VectorXd>& a, const std::vector<VectorXd>& b) {
  double most = 0;
  for (size_t i = 0; i < a.size(); ++i) most = std::max(most, (a[i] - b[i]).cwiseAbs().maxCoeff());
  return most;
}

TEST(ArmWorld, MovesAlikeAt240And480And960Hz) {
  Stage stage = test::MakeTestStage(test::SevenAxes(), 1.0);
  stage.arm.servo.payload_known = 0.5;
  const auto coarse = FollowWaves(stage, 240, 4), middle = FollowWaves(stage, 480, 4), fine = FollowWaves(stage, 960, 4);
  double travel = 0;
  for (const VectorXd& q : fine) travel = std::max(travel, (q - stage.arm.home).cwiseAbs().maxCoeff());
  EXPECT_GT(travel, 0.2);
  EXPECT_LT(Apart(coarse, fine), 5e-5);  // rad: 50 µm at a metre
  // Second order: the step halved, the error falls to a quarter (to 1/5 when measured against 960 Hz instead of the limit).
  EXPECT_LT(Apart(middle, fine), Apart(coarse, fine) / 3);
}

TEST(ArmWorld, DoesNotShakeWhenItHasArrived) {
  for (const ArmModel& arm : TestArms()) {
    for (const double hz : {120.0, 240.0, 960.0}) {
      Stage stage = test::MakeTestStage(arm, 0.6);
      stage.arm.servo.payload_known = 0.5;
      ArmWorld world(stage, {}, arm.home, hz);
      for (int i = 0; i < 2 * hz; ++i) world.Step(Waves(arm.home, i / hz), {});
      const JointSetPoint last = test::Hold(Waves(arm.home, 2).q);
      for (int i = 0; i < 3 * hz; ++i) world.Step(last, {});
      const VectorXd torque = world.torque();
      for (int i = 0; i < 20; ++i) {
        world.Step(last, {});
        EXPECT_LT(world.qd().cwiseAbs().maxCoeff(), 1e-8) << arm.name << " at " << hz << " Hz";
        EXPECT_LT((world.torque() - torque).cwiseAbs().maxCoeff(), 1e-5);
      }
    }
  }
}

TEST(ArmWorld, SameInputGivesTheSameBits) {
  const Stage stage = test::MakeTestStage(test::SevenAxes(), 0.6);
  const auto one = FollowWaves(stage, 240, 2), two = FollowWaves(stage, 240, 2);
  for (size_t i = 0; i < one.size(); ++i) ASSERT_EQ(one[i], two[i]);
}

TEST(ArmWorld, SaysSoWhenItsStateIsNoLongerFinite) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  ArmWorld world(stage, {}, stage.arm.home, 240);
  JointSetPoint wish = test::Hold(stage.arm.home);
  wish.q[2] = std::numeric_limits<double>::quiet_NaN();
  const auto run = [&] {
    for (int i = 0; i < 5; ++i) world.Step(wish, {});
  };
  EXPECT_THAT(run, testing::ThrowsMessage<RunError>(testing::HasSubstr("arm six")));
}

TEST(ArmWorld, RefusesAServoThatKnowsLessThanNoCamera) {
  Stage stage = test::MakeTestStage(test::SixAxes());
  stage.camera.mass_kg = 5;  // but the arm does not carry it
  stage.arm.servo.payload_known = 0;
  EXPECT_THAT([&] { ArmWorld(stage, {}, stage.arm.home, 240); },
              testing::ThrowsMessage<InputError>(testing::HasSubstr("payload_known")));
}

}  // namespace
}  // namespace dryrig
