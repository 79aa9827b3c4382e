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

std::vector<ArmModel> TestArms() {
  return {test::SixAxes(), test::SevenAxes(), test::SkewFour()};
}

/// Kinetic energy from the motion of every link's mass, by finite differences of its pose: knows nothing of the mass matrix.
double KineticEnergy(const ArmModel& arm, const VectorXd& q, const VectorXd& qd) {
  const double h = 1e-5;
  std::vector<Eigen::Isometry3d> before, after;
  LinkPoses(arm, q - h * qd, &before);
  LinkPoses(arm, q + h * qd, &after);
  double energy = 0;
  for (int i = 0; i < arm.dof(); ++i) {
    const Link& link = arm.links[i];
    const Vector3d v = (after[i] * link.p_LCom - before[i] * link.p_LCom) / (2 * h);
    const Eigen::AngleAxisd turn(Eigen::Matrix3d(before[i].linear().transpose() * after[i].linear()));
    const Vector3d w_L = turn.axis() * turn.angle() / (2 * h);
    energy += 0.5 * link.mass_kg * v.squaredNorm() + 0.5 * w_L.dot(link.I_LCom * w_L);
  }
  return energy;
}

double PotentialEnergy(const Stage& stage, const VectorXd& q) {
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage.arm, q, &X_BL);
  double energy = 0;
  for (int i = 0; i < stage.arm.dof(); ++i) {
    energy += stage.arm.links[i].mass_kg * kGravity_mps2 * (stage.bench.X_WB * X_BL[i] * stage.arm.links[i].p_LCom).z();
  }
  return energy;
}

TEST(MassMatrix, GivesTheKineticEnergyOfTheMovingLinks) {
  RandomStream random(1, "mass matrix");
  for (const ArmModel& arm : TestArms()) {
    SCOPED_TRACE(arm.name);
    for (int trial = 0; trial < 50; ++trial) {
      const VectorXd q = test::RandomPosture(arm, &random), qd = test::RandomVector(arm.dof(), 2, &random);
      const MatrixXd M = MassMatrix(arm, q);
      EXPECT_TRUE(M.isApprox(M.transpose(), 1e-14));
      const double energy = KineticEnergy(arm, q, qd);
      EXPECT_NEAR(0.5 * qd.dot(M * qd), energy, 1e-7 * energy);  // differences of step 1e-5: relative error near 1e-9
    }
  }
}

TEST(InverseDynamics, MatchesTheMassMatrixColumnByColumn) {
  RandomStream random(2, "columns");
  for (const ArmModel& arm : TestArms()) {
    SCOPED_TRACE(arm.name);
    const Stage stage = test::MakeTestStage(arm);
    const ArmDynamics dynamics(arm, stage.bench.X_WB);
    for (int trial = 0; trial < 50; ++trial) {
      const VectorXd q = test::RandomPosture(arm, &random), qd = test::RandomVector(arm.dof(), 3, &random);
      JointMatrix M;
      JointVector h;
      dynamics.MassAndBias(q, qd, &M, &h);
      EXPECT_TRUE(M.isApprox(MassMatrix(arm, q), 1e-14));
      for (int i = 0; i < arm.dof(); ++i) {
        const VectorXd tau = InverseDynamics(arm, stage.bench.X_WB, q, qd, VectorXd::Unit(arm.dof(), i));
        EXPECT_LT((tau - h - M.col(i)).cwiseAbs().maxCoeff(), 1e-11);
      }
    }
  }
}

TEST(InverseDynamics, GravityTorqueIsTheSlopeOfThePotentialEnergy) {
  RandomStream random(3, "slope");
  for (const ArmModel& arm : TestArms()) {
    SCOPED_TRACE(arm.name);
    const Stage stage = test::MakeTestStage(arm);
    const VectorXd q = test::RandomPosture(arm, &random), zero = VectorXd::Zero(arm.dof());
    const VectorXd tau = InverseDynamics(arm, stage.bench.X_WB, q, zero, zero);
    for (int i = 0; i < arm.dof(); ++i) {
      const VectorXd step = 1e-5 * VectorXd::Unit(arm.dof(), i);
      EXPECT_NEAR(tau[i], (PotentialEnergy(stage, q + step) - PotentialEnergy(stage, q - step)) / 2e-5, 1e-6);
    }
  }
}

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

}  // namespace
}  // namespace dryrig
