// Dynamics against textbook closed forms, Orocos KDL 1.5 and MuJoCo 2.2.2 (Debian's liborocos-kdl, libmujoco), none of which
// shares a line with Bullet or with our own equations of motion.
#include <fmt/format.h>
#include <gtest/gtest.h>
#include <mujoco/mujoco.h>

#include <Eigen/Eigenvalues>
#include <cmath>
#include <cstring>
#include <kdl/chain.hpp>
#include <kdl/chaindynparam.hpp>
#include <kdl/chainidsolver_recursive_newton_euler.hpp>
#include <memory>
#include <numbers>

#include "scenes/catalogue.h"
#include "sim/arm_dynamics.h"
#include "sim/arm_world.h"
#include "sim/kinematics.h"
#include "tests/outside/kdl_chain.h"
#include "tests/outside/listed.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Matrix3d;
using Eigen::Vector3d;
using Eigen::VectorXd;
using test::kDeg;

constexpr double kG = 9.81;

std::vector<ArmModel> Arms() {
  std::vector<ArmModel> arms{test::SixAxes(), test::SevenAxes(), test::SkewFour()};
  for (const std::string& name : ListScenes(SceneKind::kArm)) arms.push_back(ReadArm(FindScene(SceneKind::kArm, name)));
  return arms;
}

// ---- Pendulum -----------------------------------------------------------------------------------------------------------------

/// One link that swings about y with no drive. At 0 it hangs.
Stage Pendulum(double mass_kg, double com_m, double inertia) {
  ArmModel arm = test::MakeArm("pendulum", {{{0, 0, 0}, Vector3d::UnitY(), mass_kg, -360, 360}});
  arm.joints[0].continuous = true;
  arm.links[0].p_LCom = Vector3d(0, 0, -com_m);
  arm.links[0].I_LCom = inertia * Matrix3d::Identity();
  return test::MakeLevelStage(test::Limp(arm));
}

struct Swing {
  double period_s = 0;  // between the first passage of the bottom and the second one after it
  double fastest = 0;   // rad/s
};

Swing LetGo(const Stage& stage, double from, double hz = 1000) {
  const VectorXd q0 = VectorXd::Constant(1, from);
  ArmWorld world(stage, {}, q0, hz);
  Swing swing;
  std::vector<double> crossings_s;
  double before = from;
  for (int i = 1; crossings_s.size() < 3 && i < 20 * hz; ++i) {
    world.Step(test::Hold(q0), {});
    const double q = world.q()[0], qd = world.qd()[0];
    if ((q > 0) != (before > 0)) crossings_s.push_back(i / hz - q / qd);  // no torque at the bottom: straight to third order
    swing.fastest = std::max(swing.fastest, std::abs(qd));
    before = q;
  }
  if (crossings_s.size() == 3) swing.period_s = crossings_s[2] - crossings_s[0];
  return swing;
}

// A velocity-first step of dt shortens the period of a frequency w by (w dt)²/24: 4e-7 here. Asked: 2e-6.
constexpr double kPeriodTolerance = 2e-6;

TEST(PendulumPeriod, IsTheOnePrintedForEveryAmplitude) {
  // L = 1 m, g = 9.81 m/s². George Mason University, M. Seth, "Pendulum" (physics.gmu.edu/~mrseth/pass6.html).
  const Stage stage = Pendulum(1, 1, 0);
  for (const auto& [degrees, period_s] :
       {std::pair{10.0, 2.0098926273}, {30.0, 2.0409898895}, {60.0, 2.1528746669}, {80.0, 2.2818859240}}) {
    EXPECT_NEAR(LetGo(stage, degrees * kDeg).period_s, period_s, kPeriodTolerance * period_s) << degrees << " deg";
  }
}

TEST(PendulumPeriod, GrowsAsTheEllipticIntegralSays) {
  // T / T0 = 2 K(sin(θ/2)) / π, T0 = 2π √(L/g).
  const Stage stage = Pendulum(2.5, 0.4, 0);
  const double T0 = 2 * std::numbers::pi * std::sqrt(0.4 / kG);
  for (const double degrees : {5.0, 90.0, 120.0, 150.0}) {
    const double factor = 2 / std::numbers::pi * std::comp_ellint_1(std::sin(degrees * kDeg / 2));
    EXPECT_NEAR(LetGo(stage, degrees * kDeg).period_s, T0 * factor, 3 * kPeriodTolerance * T0 * factor) << degrees << " deg";
  }
  EXPECT_NEAR(std::comp_ellint_1(std::sin(45 * kDeg)) * 2 / std::numbers::pi, 1.1803406, 1e-7);  // tables of K
}

TEST(PendulumPeriod, OfAUniformRodAboutItsEnd) {
  // 2π √(2L/3g) = 1.6379466 s for L = 1 m; at 0.5° the amplitude adds 5e-6.
  const Stage stage = Pendulum(1, 0.5, 1.0 / 12);
  const double theta = 0.5 * kDeg;
  EXPECT_NEAR(LetGo(stage, theta).period_s, 1.6379466 * (1 + theta * theta / 16), 1e-5);
}

TEST(PendulumSpeed, AtTheBottomIsThatOfTheFall) {
  // v = √(2 g L) from the level: 4.4294469 m/s for L = 1 m. The speed told is extrapolated over the last half steps: wrong by
  // 3/8 dt² |v̈| = 3/8 dt² g v = 1.6e-5.
  EXPECT_NEAR(LetGo(Pendulum(1, 1, 0), 90 * kDeg).fastest, 4.4294469, 2e-5);
}

// ---- Free fall ----------------------------------------------------------------------------------------------------------------

TEST(FreeFall, OfAPropTakesTheSquareRootOfTwiceTheHeight) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  Prop prop;
  prop.name = "cube";
  prop.shape = Shape::Box({0.02, 0.02, 0.02});
  prop.at_m = {0, 0.3};
  const double height_m = 0.5, hz = 1000;
  ArmWorld world(stage, {prop}, stage.arm.home, hz);
  PropPose pose;
  pose.X_WP = Eigen::Translation3d(0, 0.3, stage.bench.height_m + 0.02 + height_m);
  pose.carrier = 0;
  world.Step(test::Hold(stage.arm.home), {pose});
  pose.carrier = -1;
  int ticks = 0;
  while (world.X_WP(0).translation().z() > stage.bench.height_m + 0.02 + 1e-6 && ticks < 1000) {
    world.Step(test::Hold(stage.arm.home), {pose});
    ++ticks;
  }
  EXPECT_NEAR(ticks / hz, std::sqrt(2 * height_m / kG), 2 / hz);  // 0.3193 s; half a step early, and the tick it is seen in
}

// ---- Two links in a plane -----------------------------------------------------------------------------------------------------

TEST(TwoLinkArm, TorquesAreTheTextbooks) {
  // Spong, Hutchinson & Vidyasagar, "Robot Modeling and Control", planar elbow manipulator: from memory, derived again here.
  const double m1 = 3, m2 = 2, l1 = 0.5, c1 = 0.2, c2 = 0.15, I1 = 0.04, I2 = 0.02;
  // The plane is x-z, angles from level: the axis is -y.
  ArmModel arm =
      test::MakeArm("planar", {{{0, 0, 0}, -Vector3d::UnitY(), m1, -360, 360}, {{l1, 0, 0}, -Vector3d::UnitY(), m2, -360, 360}});
  arm.links[0].p_LCom = Vector3d(c1, 0, 0);
  arm.links[1].p_LCom = Vector3d(c2, 0, 0);
  arm.links[0].I_LCom = Vector3d(0.01, I1, 0.03).asDiagonal();
  arm.links[1].I_LCom = Vector3d(0.01, I2, 0.03).asDiagonal();
  RandomStream random(1, "two links");
  for (int trial = 0; trial < 100; ++trial) {
    const VectorXd q = test::RandomVector(2, 3, &random), qd = test::RandomVector(2, 3, &random),
                   qdd = test::RandomVector(2, 5, &random);
    const double cos2 = std::cos(q[1]), h = -m2 * l1 * c2 * std::sin(q[1]);
    const double d11 = m1 * c1 * c1 + m2 * (l1 * l1 + c2 * c2 + 2 * l1 * c2 * cos2) + I1 + I2;
    const double d12 = m2 * (c2 * c2 + l1 * c2 * cos2) + I2, d22 = m2 * c2 * c2 + I2;
    const double g1 = (m1 * c1 + m2 * l1) * kG * std::cos(q[0]) + m2 * c2 * kG * std::cos(q[0] + q[1]);
    const double g2 = m2 * c2 * kG * std::cos(q[0] + q[1]);
    const double tau1 = d11 * qdd[0] + d12 * qdd[1] + 2 * h * qd[0] * qd[1] + h * qd[1] * qd[1] + g1;
    const double tau2 = d12 * qdd[0] + d22 * qdd[1] - h * qd[0] * qd[0] + g2;
    const VectorXd tau = InverseDynamics(arm, Isometry3d::Identity(), q, qd, qdd);
    EXPECT_NEAR(tau[0], tau1, 1e-12 * 100);
    EXPECT_NEAR(tau[1], tau2, 1e-12 * 100);
    const VectorXd zero = VectorXd::Zero(2), hold = InverseDynamics(arm, Isometry3d::Identity(), q, zero, zero);
    EXPECT_NEAR(hold[0], g1, 1e-12 * 100);
    EXPECT_NEAR(hold[1], g2, 1e-12 * 100);
  }
}

// ---- Energy -------------------------------------------------------------------------------------------------------------------

double Energy(const Stage& stage, const ArmWorld& world) {
  double energy = 0.5 * world.qd().dot(MassMatrix(stage.arm, world.q()) * world.qd());
  for (int i = 0; i < stage.arm.dof(); ++i) {
    energy += stage.arm.links[i].mass_kg * kG * (world.X_WL()[i] * stage.arm.links[i].p_LCom).z();
  }
  return energy;
}

TEST(EnergyConservation, APendulumKeepsItsEnergyForTenSeconds) {
  const Stage stage = Pendulum(1, 1, 0);
  const VectorXd q0 = VectorXd::Constant(1, 60 * kDeg);
  const double dt_s = 1e-3, v2 = 2 * kG * (1 - std::cos(60 * kDeg));
  ArmWorld world(stage, {}, q0, 1 / dt_s);
  const double start = Energy(stage, world);
  // A velocity-first step conserves H + dt²(V'' v²/12 - V'²/24) up to dt⁴ (Hairer, Lubich & Wanner, "Geometric Numerical
  // Integration"); the velocity told at the instant is extrapolated, wrong by dt²/2 times the jerk V'' v. Here V'' <= g, V' <= g.
  const double bound = dt_s * dt_s * (kG * v2 / 12 + kG * kG / 24 + kG * v2 / 2);
  for (int i = 0; i < 10'000; ++i) {
    world.Step(test::Hold(q0), {});
    ASSERT_NEAR(Energy(stage, world), start, bound) << "step " << i;
  }
  EXPECT_LT(bound, 1e-4 * kG);  // of the energies that change places
}

/// The engine takes velocity-dependent forces at the last half step: first order. So the error halves with the step, and what it
/// halves toward is no error at all: twice the finer result less the coarser one keeps the energy.
TEST(EnergyConservation, FallingArmsKeepTheirEnergyInTheLimitOfSmallSteps) {
  for (const ArmModel& arm : Arms()) {
    SCOPED_TRACE(arm.name);
    Stage stage = test::MakeTestStage(test::Limp(arm));
    for (Joint& joint : stage.arm.joints) {
      joint.damping = joint.friction = 0;
      joint.continuous = true;
    }
    const auto gained = [&](double hz, double* kinetic) {
      ArmWorld world(stage, {}, arm.home, hz);
      const double start = Energy(stage, world);
      for (int i = 0; i < 0.5 * hz; ++i) world.Step(test::Hold(arm.home), {});
      *kinetic = 0.5 * world.qd().dot(MassMatrix(stage.arm, world.q()) * world.qd());
      return Energy(stage, world) - start;
    };
    double kinetic = 0;
    const double coarse = gained(1000, &kinetic), fine = gained(2000, &kinetic);
    EXPECT_GT(kinetic, 3) << "J";
    EXPECT_LT(std::abs(coarse), 0.02 * kinetic);
    EXPECT_NEAR(2 * fine - coarse, 0, 1e-3 * kinetic);
  }
}

// ---- KDL ----------------------------------------------------------------------------------------------------------------------

using outside::ChainOf;
using outside::ToKdl;

KDL::JntArray ToKdl(const VectorXd& q) {
  KDL::JntArray out(static_cast<unsigned>(q.size()));
  out.data = q;
  return out;
}

// 1e-9 N·m of torques near 100: rounding is 1e-13.
TEST(DynamicsAgainstKdl, InverseDynamicsAndMassMatrixOfEveryArm) {
  RandomStream random(7, "kdl");
  for (const ArmModel& arm : Arms()) {
    SCOPED_TRACE(arm.name);
    const Isometry3d X_WB = test::MakeTestStage(arm).bench.X_WB;
    const KDL::Chain chain = ChainOf(arm);
    const KDL::Vector gravity = ToKdl(Vector3d(X_WB.linear().transpose() * Vector3d(0, 0, -kG)));
    KDL::ChainIdSolver_RNE solver(chain, gravity);
    KDL::ChainDynParam parameters(chain, gravity);
    const unsigned n = chain.getNrOfJoints();
    ASSERT_EQ(n, static_cast<unsigned>(arm.dof()));
    const KDL::Wrenches no_forces(n, KDL::Wrench::Zero());
    for (int trial = 0; trial < 200; ++trial) {
      const VectorXd q = test::RandomPosture(arm, &random), qd = test::RandomVector(arm.dof(), 3, &random),
                     qdd = test::RandomVector(arm.dof(), 10, &random);
      KDL::JntArray tau(n);
      ASSERT_EQ(solver.CartToJnt(ToKdl(q), ToKdl(qd), ToKdl(qdd), no_forces, tau), 0);
      EXPECT_LT((InverseDynamics(arm, X_WB, q, qd, qdd) - tau.data).cwiseAbs().maxCoeff(), 1e-9);
      KDL::JntSpaceInertiaMatrix mass(n);
      ASSERT_EQ(parameters.JntToMass(ToKdl(q), mass), 0);
      EXPECT_LT((MassMatrix(arm, q) - mass.data).cwiseAbs().maxCoeff(), 1e-9);
    }
  }
}

// ---- MuJoCo -------------------------------------------------------------------------------------------------------------------

std::string Numbers(const Eigen::Ref<const VectorXd>& v) {
  std::string out;
  for (double x : v) out += fmt::format("{:.17g} ", x);
  return out;
}

std::string Placed(const Isometry3d& X) {
  const Eigen::Quaterniond q(X.linear());
  return fmt::format("pos='{}' quat='{}'", Numbers(X.translation()), Numbers(Eigen::Vector4d(q.w(), q.x(), q.y(), q.z())));
}

/// The arm as a MuJoCo model: bodies in a row, no geometry, no limits, its velocity-first Euler step.
std::string Mjcf(const Stage& stage, double dt_s) {
  std::string bodies = fmt::format("<body name='base' {}>", Placed(stage.bench.X_WB));
  for (int i = 0; i < stage.arm.dof(); ++i) {
    const Joint& joint = stage.arm.joints[i];
    const Link& link = stage.arm.links[i];
    // Along its principal axes, as Eigen finds them: with MuJoCo's own search the skew arms were 3e-5 rad apart after 2 s.
    const Eigen::SelfAdjointEigenSolver<Matrix3d> principal(link.I_LCom);
    Isometry3d X_LI = Isometry3d::Identity();
    X_LI.translation() = link.p_LCom;
    X_LI.linear() = principal.eigenvectors();
    if (X_LI.linear().determinant() < 0) X_LI.linear().col(0) *= -1;
    bodies += fmt::format("<body name='{}' {}><inertial {} mass='{:.17g}' diaginertia='{}'/><joint type='{}' axis='{}'/>",
                          link.name, Placed(joint.X_PJ), Placed(X_LI), link.mass_kg, Numbers(principal.eigenvalues()),
                          joint.kind == JointKind::kRevolute ? "hinge" : "slide", Numbers(joint.axis));
  }
  for (int i = 0; i <= stage.arm.dof(); ++i) bodies += "</body>";
  return fmt::format(
      "<mujoco><compiler angle='radian' boundmass='0' boundinertia='0'/><option timestep='{:.17g}' gravity='0 0 {}' "
      "integrator='Euler'/><worldbody>{}</worldbody></mujoco>",
      dt_s, -kG, bodies);
}

using MujocoModel = std::unique_ptr<mjModel, void (*)(mjModel*)>;
using MujocoData = std::unique_ptr<mjData, void (*)(mjData*)>;

MujocoModel LoadMujoco(const std::string& xml) {
  const auto files = std::make_unique<mjVFS>();
  mj_defaultVFS(files.get());
  mj_makeEmptyFileVFS(files.get(), "arm.xml", static_cast<int>(xml.size()));
  std::memcpy(files->filedata[0], xml.data(), xml.size());
  char error[500] = "";
  mjModel* model = mj_loadXML("arm.xml", files.get(), error, sizeof error);
  mj_deleteVFS(files.get());
  if (!model) ADD_FAILURE() << error;
  return {model, mj_deleteModel};
}

/// A smooth start and plenty of motion in every joint.
JointSetPoint Dance(const VectorXd& home, double t_s) {
  JointSetPoint wish = test::Hold(home);
  for (int i = 0; i < home.size(); ++i) {
    const double w = 2 + 0.5 * i, a = 0.25;
    wish.q[i] += a * std::pow(1 - std::cos(w * t_s), 2);
    wish.qd[i] = 2 * a * w * (1 - std::cos(w * t_s)) * std::sin(w * t_s);
    wish.qdd[i] = 2 * a * w * w * (std::pow(std::sin(w * t_s), 2) + (1 - std::cos(w * t_s)) * std::cos(w * t_s));
  }
  return wish;
}

/// The torques that drove our arm, given to MuJoCo's. Both step velocity first by the same dt, so what is left is rounding,
/// which an arm without feedback multiplies by about e^(5 t); 1e-7 rad after 2 s asks for rounding no worse than 1e-11.
TEST(DynamicsAgainstMujoco, TheSameTorquesGiveTheSameMotion) {
  for (const ArmModel& arm : Arms()) {
    SCOPED_TRACE(arm.name);
    Stage stage = test::MakeTestStage(arm, 0.6);
    for (Joint& joint : stage.arm.joints) {
      joint.damping = joint.friction = 0;
      joint.effort = 1e6;
      joint.continuous = true;
    }
    const double hz = 1000;
    const MujocoModel model = LoadMujoco(Mjcf(stage, 1 / hz));
    ASSERT_TRUE(model);
    ASSERT_EQ(model->nv, arm.dof());
    const MujocoData data(mj_makeData(model.get()), mj_deleteData);
    Eigen::Map<VectorXd>(data->qpos, arm.dof()) = arm.home;
    ArmWorld world(stage, {}, arm.home, hz);
    ASSERT_LT((world.q() - arm.home).cwiseAbs().maxCoeff(), 0.1);
    Eigen::Map<VectorXd>(data->qpos, arm.dof()) = world.q();
    double apart = 0, travel = 0, no_torque_apart = 0;
    for (int i = 0; i < 2 * hz; ++i) {
      world.Step(Dance(arm.home, i / hz), {});
      Eigen::Map<VectorXd>(data->qfrc_applied, arm.dof()) = world.torque();
      mj_step(model.get(), data.get());
      const VectorXd q = Eigen::Map<VectorXd>(data->qpos, arm.dof());
      apart = std::max(apart, (world.q() - q).cwiseAbs().maxCoeff());
      travel = std::max(travel, (world.q() - arm.home).cwiseAbs().maxCoeff());
    }
    EXPECT_LT(apart, 1e-7);
    EXPECT_GT(travel, 0.5);
    // A check that could not fail would be none: the same torques 1 % weaker.
    mj_resetData(model.get(), data.get());
    Eigen::Map<VectorXd>(data->qpos, arm.dof()) = arm.home;
    ArmWorld again(stage, {}, arm.home, hz);
    for (int i = 0; i < hz; ++i) {
      again.Step(Dance(arm.home, i / hz), {});
      Eigen::Map<VectorXd>(data->qfrc_applied, arm.dof()) = 0.99 * again.torque();
      mj_step(model.get(), data.get());
      no_torque_apart =
          std::max(no_torque_apart, (again.q() - Eigen::Map<VectorXd>(data->qpos, arm.dof())).cwiseAbs().maxCoeff());
    }
    EXPECT_GT(no_torque_apart, 1e-3);
  }
}

}  // namespace
}  // namespace dryrig
