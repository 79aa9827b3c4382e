#include "sim/arm_dynamics.h"

#include <gtest/gtest.h>

#include <cmath>

#include "sim/kinematics.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::MatrixXd;
using Eigen::Vector3d;
using Eigen::VectorXd;
using test::PotentialEnergy;
using test::TestArms;

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

}  // namespace
}  // namespace dryrig
