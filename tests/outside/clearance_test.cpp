// Separation and contact of an arm against closed forms, KDL 1.5's dynamics (Debian's liborocos-kdl) and worked numbers. No
// standard's own text was read; values of ISO/TS 15066 come from public copies.
#include <gtest/gtest.h>

#include <cmath>
#include <kdl/chaindynparam.hpp>
#include <kdl/chainjnttojacsolver.hpp>

#include "metrics/pair_moment.h"
#include "scenes/catalogue.h"
#include "sim/kinematics.h"
#include "sim/reflected_mass.h"
#include "sim/rng.h"
#include "sim/stopping.h"
#include "tests/outside/kdl_chain.h"
#include "tests/outside/listed.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using Eigen::VectorXd;

// One joint at constant deceleration: T = v/a, way v²/2a; a jerk limit adds a ramp a/j at each end and v·a/2j to the way
// (textbook S-curve). 1.5 rad/s, 5 rad/s², 50 rad/s³: 0.3 + 0.1 = 0.4 s and 0.225 + 0.075 = 0.3 rad.
TEST(ClearanceOutside, StoppingOfOneJointInClosedForm) {
  EXPECT_NEAR(StopTime_s(1.5, 5, 1e12), 0.3, 1e-9);
  EXPECT_NEAR(StopTravel(1.5, 5, 1e12, 1), 1.5 * 1.5 / (2 * 5), 1e-9);
  EXPECT_NEAR(StopTime_s(1.5, 5, 50), 0.4, 1e-12);
  EXPECT_NEAR(StopTravel(1.5, 5, 50, 1), 0.3, 1e-12);
  // Too slow to reach 5 rad/s²: two ramps of √(v/j). 0.08 rad/s: 0.04 s each.
  EXPECT_NEAR(StopTime_s(0.08, 5, 50), 0.08, 1e-12);
  EXPECT_NEAR(StopTravel(0.08, 5, 50, 1), 0.0032, 1e-12);
}

// The stop of one turning joint carries a point at 0.8 m along an arc of v²/2a · 0.8 m and not one micron farther.
TEST(ClearanceOutside, StoppingDistanceOfAPointOnOneJoint) {
  ArmModel arm = test::MakeArm("one", {{{0, 0, 0}, Vector3d::UnitZ(), 2, -170, 170}});
  arm.servo.latency_s = 0;
  arm.joints[0].acceleration = 6, arm.joints[0].jerk = 1e9, arm.joints[0].effort = 1e6;
  const StopPlan plan = Stopper(arm, Eigen::Isometry3d::Identity()).Plan(VectorXd::Zero(1), VectorXd::Constant(1, 1.2));
  EXPECT_NEAR(0.8 * plan.Travel()[0], 0.8 * 1.2 * 1.2 / (2 * 6), 1e-6);
  EXPECT_NEAR(plan.time_s(), 0.2, 1e-6);
}

// Reflected mass (nᵀ J M⁻¹ Jᵀ n)⁻¹ with M and J by KDL, both shipped arms and three made ones, 200 postures each.
TEST(ClearanceOutside, ReflectedMassAgainstKdl) {
  std::vector<ArmModel> arms = test::TestArms();
  for (const char* name : {"reed", "heron"}) arms.push_back(ReadArm(FindScene(SceneKind::kArm, name)));
  RandomStream random(11, "reflected");
  for (const ArmModel& arm : arms) {
    const KDL::Chain chain = outside::ChainOf(arm);
    KDL::ChainDynParam dynamics(chain, KDL::Vector(0, 0, -9.81));
    KDL::ChainJntToJacSolver jacobian(chain);
    const auto n = static_cast<unsigned>(arm.dof());
    const ArmDynamics ours(arm, Eigen::Isometry3d::Identity());
    for (int trial = 0; trial < 200; ++trial) {
      const VectorXd q = test::RandomPosture(arm, &random);
      KDL::JntArray at(n);
      at.data = q;
      KDL::JntSpaceInertiaMatrix mass(n);
      ASSERT_EQ(dynamics.JntToMass(at, mass), 0);
      KDL::Jacobian J(n);
      ASSERT_EQ(jacobian.JntToJac(at, J), 0);
      const Vector3d way = Vector3d(random.Uniform(-1, 1), random.Uniform(-1, 1), random.Uniform(-1, 1)).normalized();
      const VectorXd row = J.data.topRows(3).transpose() * way;
      const double theirs = 1 / row.dot(mass.data.inverse() * row);
      std::vector<Eigen::Isometry3d> X_BL;
      LinkPoses(arm, q, &X_BL);
      const Vector3d tip = X_BL.back().translation();
      JointMatrix M;
      JointVector bias;
      ours.MassAndBias(q, VectorXd::Zero(arm.dof()), &M, &bias);
      const double mine = ReflectedMass_kg(PointRows(PointJacobian(arm, X_BL, arm.dof() - 1, tip).topRows(3)), M, way);
      if (theirs > 1e4) continue;  // hardly moves that way
      EXPECT_NEAR(mine / theirs, 1, 1e-7);
    }
  }
}

// A point mass m at the end of a massless rod of length L reflects m across the rod, and cannot be moved along it. Textbook.
TEST(ClearanceOutside, ReflectedMassOfAPointOnARod) {
  ArmModel arm = test::MakeArm("rod", {{{0, 0, 0}, Vector3d::UnitZ(), 3, -170, 170}});
  arm.links[0].p_LCom = Vector3d(0.7, 0, 0);
  arm.links[0].I_LCom.setZero();
  JointMatrix M;
  JointVector bias;
  ArmDynamics(arm, Eigen::Isometry3d::Identity()).MassAndBias(VectorXd::Zero(1), VectorXd::Zero(1), &M, &bias);
  PointRows J(3, 1);
  J.col(0) = Vector3d(0, 0.7, 0);
  EXPECT_NEAR(ReflectedMass_kg(J, M, Vector3d::UnitY()), 3, 1e-12);
  EXPECT_EQ(ReflectedMass_kg(J, M, Vector3d::UnitX()), 1e6);
  // Half way out the same inertia is felt as four times the mass.
  J.col(0) = Vector3d(0, 0.35, 0);
  EXPECT_NEAR(ReflectedMass_kg(J, M, Vector3d::UnitY()), 12, 1e-12);
}

// A lever: 40 N·m at 0.5 m press with 80 N; with 10 N·m taken by gravity with 60 N, or 100 N with its help.
TEST(ClearanceOutside, PressingForceIsTheLevers) {
  PointRows J(3, 1);
  J.col(0) = Vector3d(0, 0.5, 0);
  const JointVector effort = VectorXd::Constant(1, 40);
  EXPECT_NEAR(PressForce_N(J, effort, VectorXd::Zero(1), Vector3d::UnitY()), 80, 1e-12);
  EXPECT_NEAR(PressForce_N(J, effort, VectorXd::Constant(1, 10), Vector3d::UnitY()), 60, 1e-12);
  EXPECT_NEAR(PressForce_N(J, effort, VectorXd::Constant(1, 10), -Vector3d::UnitY()), 100, 1e-12);
}

// The public worked case of protective separation as terms: S_h 0.64, S_r 0.10, S_s 0.15, C 0.20, Z_d 0.10, Z_r 0.05, S_p 1.24.
TEST(ClearanceOutside, SeparationTermsOfTheWorkedCase) {
  const double v_h = 1.6, v_r = 1.0, T_r = 0.10, T_s = 0.30;
  const SeparationTerms terms{v_h * (T_r + T_s), v_r * T_r, StopTravel(v_r, v_r / T_s, 1e12, 1), 0.20, 0.10, 0.05};
  EXPECT_NEAR(terms.human_m, 0.64, 1e-12);
  EXPECT_NEAR(terms.stopping_m, 0.15, 1e-9);
  EXPECT_NEAR(terms.total_m(), 1.24, 1e-9);
  EXPECT_NEAR(terms.total_m(), ProtectiveSeparation_m({}, v_r, T_s), 1e-9);
}

// ISO 13854 minimum gaps, metres, from memory: hand 0.100, arm 0.120, leg 0.180, head 0.300, body 0.500.
TEST(ClearanceOutside, LeastGapsByRegion) {
  EXPECT_EQ(LeastGap_m("hand"), 0.1);
  EXPECT_EQ(LeastGap_m("lower arm"), 0.12);
  EXPECT_EQ(LeastGap_m("lower leg"), 0.18);
  EXPECT_EQ(LeastGap_m("face"), 0.3);
  EXPECT_EQ(LeastGap_m("chest"), 0.5);
}

}  // namespace
}  // namespace dryrig
