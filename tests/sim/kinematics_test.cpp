// Kinematics on geometry with an obvious answer, and on every shipped arm against finite differences.
#include "sim/kinematics.h"

#include <gtest/gtest.h>

#include <numbers>

#include "scenes/catalogue.h"
#include "sim/rng.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using Eigen::VectorXd;

constexpr double kDegree = std::numbers::pi / 180;

/// Joints of these kinds and axes, each `step_m` along x from the one before.
ArmModel Row(const std::vector<std::pair<JointKind, Vector3d>>& joints, double step_m) {
  ArmModel arm;
  for (const auto& [kind, axis] : joints) {
    Joint joint;
    joint.kind = kind;
    joint.axis = axis;
    joint.lower = -3;
    joint.upper = 3;
    if (!arm.joints.empty()) joint.X_PJ.translation() = Vector3d(step_m, 0, 0);
    arm.joints.push_back(joint);
  }
  arm.links.resize(joints.size());
  arm.X_EC.translation() = Vector3d(step_m, 0, 0);
  return arm;
}

VectorXd AnyPosture(const ArmModel& arm, RandomStream* random) {
  VectorXd q(arm.dof());
  for (int i = 0; i < arm.dof(); ++i) q[i] = random->Uniform(arm.joints[size_t(i)].lower, arm.joints[size_t(i)].upper);
  return q;
}

std::vector<ArmModel> ShippedArms() {
  std::vector<ArmModel> arms;
  for (const std::string& name : ListScenes(SceneKind::kArm)) arms.push_back(ReadArm(FindScene(SceneKind::kArm, name)));
  return arms;
}

TEST(Kinematics, FourLinksFoldedAtRightAnglesMakeASquare) {
  const ArmModel arm = Row(std::vector(4, std::make_pair(JointKind::kRevolute, Vector3d(Vector3d::UnitZ()))), 1);
  const Eigen::Isometry3d X = CameraPose(arm, Eigen::Vector4d::Constant(90 * kDegree));
  EXPECT_LT(X.translation().norm(), 1e-15) << "back where it began";
  EXPECT_TRUE(X.linear().isIdentity(1e-15)) << "and once round";
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(arm, Eigen::Vector4d::Constant(90 * kDegree), &X_BL);
  ASSERT_EQ(X_BL.size(), 4u);
  EXPECT_TRUE(X_BL[2].translation().isApprox(Vector3d(-1, 1, 0)));
}

TEST(Kinematics, ASlidingJointSlidesWithoutTurning) {
  const ArmModel arm = Row({{JointKind::kRevolute, Vector3d::UnitZ()},
                            {JointKind::kPrismatic, Vector3d::UnitX()},
                            {JointKind::kRevolute, Vector3d::UnitZ()},
                            {JointKind::kRevolute, Vector3d::UnitZ()}},
                           1);
  const Eigen::Vector4d q(90 * kDegree, 0.5, 0, 0);
  EXPECT_TRUE(CameraPose(arm, q).translation().isApprox(Vector3d(0, 4.5, 0), 1e-15));
  const Jacobian J = CameraJacobian(arm, q);
  EXPECT_TRUE(J.col(1).head<3>().isApprox(Vector3d::UnitY(), 1e-15));
  EXPECT_TRUE(J.col(1).tail<3>().isZero());
  EXPECT_EQ(JointMotion(arm.joints[1], 0.5).translation(), Vector3d(0.5, 0, 0));
}

// A 1 rad/s turn about a joint d metres away moves the point at d m/s.
TEST(Kinematics, APointsColumnsEndAtItsOwnLink) {
  const ArmModel arm = Row(std::vector(4, std::make_pair(JointKind::kRevolute, Vector3d(Vector3d::UnitZ()))), 1);
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(arm, Eigen::Vector4d::Zero(), &X_BL);
  const Jacobian J = PointJacobian(arm, X_BL, 1, Vector3d(1.5, 0, 0));
  EXPECT_TRUE(J.col(0).head<3>().isApprox(Vector3d(0, 1.5, 0)));
  EXPECT_TRUE(J.col(1).head<3>().isApprox(Vector3d(0, 0.5, 0)));
  EXPECT_TRUE(J.rightCols(2).isZero()) << "links further out do not carry it";
}

// Central differences of step h = 1e-6 err by h²/6·‖third derivative‖ ~ 1e-12 and by rounding 1e-16/h ~ 1e-10, in arms of a
// metre's size; a wrong axis or a wrong lever arm errs by 0.1 or more.
TEST(Kinematics, TheJacobianIsTheDerivativeOfThePose) {
  constexpr double kStep = 1e-6, kTolerance = 1e-8;
  std::vector<ArmModel> arms = ShippedArms();
  arms.push_back(Row({{JointKind::kRevolute, Vector3d(1, 2, 3).normalized()},
                      {JointKind::kPrismatic, Vector3d(3, -1, 1).normalized()},
                      {JointKind::kRevolute, Vector3d(0, 1, 1).normalized()},
                      {JointKind::kRevolute, Vector3d::UnitX()}},
                     0.3));
  RandomStream random(1, "kinematics test");
  for (const ArmModel& arm : arms) {
    SCOPED_TRACE(arm.name);
    for (int n = 0; n < 100; ++n) {
      const VectorXd q = AnyPosture(arm, &random);
      const Jacobian J = CameraJacobian(arm, q);
      const Eigen::Matrix3d R = CameraPose(arm, q).linear();
      for (int i = 0; i < arm.dof(); ++i) {
        VectorXd lo = q, hi = q;
        lo[i] -= kStep;
        hi[i] += kStep;
        const Eigen::Isometry3d X_lo = CameraPose(arm, lo), X_hi = CameraPose(arm, hi);
        const Vector3d v = (X_hi.translation() - X_lo.translation()) / (2 * kStep);
        const Eigen::Matrix3d W = (X_hi.linear() - X_lo.linear()) / (2 * kStep) * R.transpose();  // skew of the angular velocity
        EXPECT_LT((J.col(i).head<3>() - v).norm(), kTolerance);
        EXPECT_LT((J.col(i).tail<3>() - Vector3d(W(2, 1), W(0, 2), W(1, 0))).norm(), kTolerance);
      }
      std::vector<Eigen::Isometry3d> X_BL;
      LinkPoses(arm, q, &X_BL);
      const Jacobian same = PointJacobian(arm, X_BL, arm.dof() - 1, X_BL.back() * arm.X_EC.translation());
      EXPECT_TRUE(same.isApprox(J, 1e-14));
    }
  }
}

TEST(Kinematics, LinkPosesKeepTheirPlace) {
  const ArmModel arm = ShippedArms().at(0);
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(arm, arm.home, &X_BL);
  const Eigen::Isometry3d* place = X_BL.data();
  LinkPoses(arm, VectorXd::Zero(arm.dof()), &X_BL);
  EXPECT_EQ(X_BL.data(), place) << "no new memory after the first use";
}

// A turn of any size leaves a rotation a rotation: chained products lose no more than a few roundings.
TEST(Kinematics, PosesStayRigid) {
  RandomStream random(2, "kinematics test");
  for (const ArmModel& arm : ShippedArms()) {
    for (int n = 0; n < 100; ++n) {
      const Eigen::Matrix3d R = CameraPose(arm, AnyPosture(arm, &random)).linear();
      EXPECT_LT((R * R.transpose() - Eigen::Matrix3d::Identity()).norm(), 1e-14);
      EXPECT_NEAR(R.determinant(), 1, 1e-14);
    }
  }
}

// Two links in a plane: w = l1·l2·|sin θ2| (Yoshikawa 1985), 0 when stretched.
TEST(Kinematics, ManipulabilityIsZeroStretchedAndGrowsWithTheElbow) {
  for (const ArmModel& arm : ShippedArms()) {
    SCOPED_TRACE(arm.name);
    EXPECT_LT(Manipulability(CameraJacobian(arm, VectorXd::Zero(arm.dof()))), 1e-6) << "upright and straight is singular";
    EXPECT_GT(Manipulability(CameraJacobian(arm, arm.home)), 0.01);
  }
  // Four joints: of the two Gram matrices only the smaller one can be regular.
  const ArmModel four = Row({{JointKind::kPrismatic, Vector3d::UnitX()},
                             {JointKind::kPrismatic, Vector3d::UnitY()},
                             {JointKind::kPrismatic, Vector3d::UnitZ()},
                             {JointKind::kRevolute, Vector3d::UnitX()}},
                            1);
  EXPECT_DOUBLE_EQ(Manipulability(CameraJacobian(four, Eigen::Vector4d::Zero())), 1)
      << "three slides and a spin about the camera: all independent";
}

// What the arm files promise of `home`: before and above the base, looking along the base's x and 35° down, image upright.
TEST(ShippedArms, AtHomeTheCameraLooksForwardDownAndUpright) {
  for (const ArmModel& arm : ShippedArms()) {
    SCOPED_TRACE(arm.name);
    const Eigen::Isometry3d X_BC = CameraPose(arm, arm.home);
    const Vector3d right = X_BC.linear().col(0), down = X_BC.linear().col(1), forward = X_BC.linear().col(2);
    EXPECT_NEAR(X_BC.translation().x(), 0.45, 0.1);
    EXPECT_NEAR(X_BC.translation().y(), 0, 1e-9);
    EXPECT_NEAR(X_BC.translation().z(), 0.45, 0.11);
    EXPECT_NEAR(std::asin(-forward.z()) / kDegree, 35, 0.2);
    EXPECT_GT(forward.x(), 0.8);
    EXPECT_NEAR(right.z(), 0, 1e-9) << "the horizon is level";
    EXPECT_LT(down.z(), -0.8) << "and not upside down";
  }
}

// Filming range: from points all round the base the wrist can look at the bench. Checked coarsely: postures found at random
// cover the space before the arm at table height and above.
TEST(ShippedArms, ReachTheSpaceBeforeThemInManyPostures) {
  RandomStream random(3, "kinematics test");
  for (const ArmModel& arm : ShippedArms()) {
    SCOPED_TRACE(arm.name);
    int looking_down = 0;
    std::array<int, 8> octants{};
    for (int n = 0; n < 4000; ++n) {
      const Eigen::Isometry3d X = CameraPose(arm, AnyPosture(arm, &random));
      looking_down += X.linear()(2, 2) < -0.9;
      const Vector3d p = X.translation() - Vector3d(0, 0, 0.3);
      ++octants[size_t((p.x() > 0) + 2 * (p.y() > 0) + 4 * (p.z() > 0))];
    }
    EXPECT_GT(looking_down, 40);
    for (const int n : octants) EXPECT_GT(n, 100);
  }
}

}  // namespace
}  // namespace dryrig
