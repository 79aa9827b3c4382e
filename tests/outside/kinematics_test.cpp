// Kinematics against Orocos KDL 1.5 (Debian's liborocos-kdl) and against poses and manipulabilities that others have printed.
#include "sim/kinematics.h"

#include <gtest/gtest.h>
#include <urdf_model/model.h>
#include <urdf_parser/urdf_parser.h>

#include <fstream>
#include <kdl/chain.hpp>
#include <kdl/chainfksolverpos_recursive.hpp>
#include <kdl/chainjnttojacsolver.hpp>
#include <numbers>
#include <sstream>

#include "scenes/catalogue.h"
#include "sim/rng.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;
using Eigen::VectorXd;

constexpr double kPi = std::numbers::pi;

KDL::Vector ToKdl(const Vector3d& v) {
  return {v.x(), v.y(), v.z()};
}
KDL::Frame ToKdl(const Isometry3d& X) {
  const Eigen::Matrix3d R = X.linear();
  return {KDL::Rotation(R(0, 0), R(0, 1), R(0, 2), R(1, 0), R(1, 1), R(1, 2), R(2, 0), R(2, 1), R(2, 2)), ToKdl(X.translation())};
}
Isometry3d FromKdl(const KDL::Frame& F) {
  Isometry3d X = Isometry3d::Identity();
  for (int i = 0; i < 3; ++i) {
    for (int j = 0; j < 3; ++j) X.linear()(i, j) = F.M(i, j);
    X.translation()[i] = F.p(i);
  }
  return X;
}

/// The URDF read once more, by urdfdom alone: from the file to a KDL chain without any of our own reading.
KDL::Chain ChainFromUrdf(const std::filesystem::path& urdf, const std::string& tip, const Isometry3d& X_TipC) {
  std::ifstream in(urdf);
  std::ostringstream text;
  text << in.rdbuf();
  const urdf::ModelInterfaceSharedPtr model = urdf::parseURDF(text.str());
  std::vector<urdf::JointConstSharedPtr> path;
  for (urdf::LinkConstSharedPtr link = model->getLink(tip); link->parent_joint; link = link->getParent())
    path.insert(path.begin(), link->parent_joint);
  KDL::Chain chain;
  for (const urdf::JointConstSharedPtr& joint : path) {
    const urdf::Pose& pose = joint->parent_to_joint_origin_transform;
    const KDL::Frame origin(KDL::Rotation::Quaternion(pose.rotation.x, pose.rotation.y, pose.rotation.z, pose.rotation.w),
                            KDL::Vector(pose.position.x, pose.position.y, pose.position.z));
    const KDL::Vector axis(joint->axis.x, joint->axis.y, joint->axis.z);
    const KDL::Joint kdl_joint = joint->type == urdf::Joint::FIXED
                                     ? KDL::Joint(joint->name, KDL::Joint::None)
                                     : KDL::Joint(joint->name, origin.p, origin.M * axis, KDL::Joint::RotAxis);
    chain.addSegment(KDL::Segment(joint->child_link_name, kdl_joint, origin));
  }
  chain.addSegment(KDL::Segment("camera", KDL::Joint("mount", KDL::Joint::None), ToKdl(X_TipC)));
  return chain;
}

struct ShippedArm {
  const char* name;
  const char* tip;
};

// 1e-9 m and rad: seven orders above rounding, three below what any arm can repeat.
TEST(KinematicsAgainstKdl, PoseAndJacobianOfBothArmsInAThousandPostures) {
  Isometry3d X_TipC = Isometry3d::Identity();  // as the arm files say: 140 mm on, a quarter turn back about z
  X_TipC.translation() = Vector3d(0, 0, 0.14);
  X_TipC.linear() = Eigen::AngleAxisd(-kPi / 2, Vector3d::UnitZ()).toRotationMatrix();
  for (const ShippedArm& shipped : {ShippedArm{"reed", "flange"}, ShippedArm{"heron", "mounting_plate"}}) {
    SCOPED_TRACE(shipped.name);
    const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, shipped.name));
    const KDL::Chain chain = ChainFromUrdf(ScenesFolder() / "arms" / (std::string(shipped.name) + ".urdf"), shipped.tip, X_TipC);
    ASSERT_EQ(int(chain.getNrOfJoints()), arm.dof());
    KDL::ChainFkSolverPos_recursive forward(chain);
    KDL::ChainJntToJacSolver jacobian(chain);
    RandomStream random(4, shipped.name);
    double worst_m = 0, worst_jacobian = 0;
    for (int n = 0; n < 1000; ++n) {
      VectorXd q(arm.dof());
      for (int i = 0; i < arm.dof(); ++i) q[i] = random.Uniform(arm.joints[size_t(i)].lower, arm.joints[size_t(i)].upper);
      KDL::JntArray kdl_q(unsigned(arm.dof()));
      kdl_q.data = q;
      KDL::Frame pose;
      KDL::Jacobian J(unsigned(arm.dof()));
      ASSERT_GE(forward.JntToCart(kdl_q, pose), 0);
      ASSERT_GE(jacobian.JntToJac(kdl_q, J), 0);
      worst_m = std::max(worst_m, (FromKdl(pose).matrix() - CameraPose(arm, q).matrix()).cwiseAbs().maxCoeff());
      worst_jacobian = std::max(worst_jacobian, (J.data - CameraJacobian(arm, q)).cwiseAbs().maxCoeff());
    }
    EXPECT_LT(worst_m, 1e-9);
    EXPECT_LT(worst_jacobian, 1e-9);
  }
}

// The comparison sees a mount that is one millimetre off.
TEST(KinematicsAgainstKdl, SeesAWrongMount) {
  const ArmModel arm = ReadArm(FindScene(SceneKind::kArm, "reed"));
  const KDL::Chain chain =
      ChainFromUrdf(ScenesFolder() / "arms/reed.urdf", "flange", Isometry3d(Eigen::Translation3d(0, 0, 0.141)));
  KDL::ChainFkSolverPos_recursive forward(chain);
  KDL::JntArray q(6);
  q.data = arm.home;
  KDL::Frame pose;
  ASSERT_GE(forward.JntToCart(q, pose), 0);
  EXPECT_GT((FromKdl(pose).translation() - CameraPose(arm, arm.home).translation()).norm(), 0.9e-3);
}

// ---- Published poses, through arms built from Denavit–Hartenberg rows ----

struct DhRow {
  double d, a, alpha;
};
Isometry3d Shift(double x, double z) {
  return Isometry3d(Eigen::Translation3d(x, 0, z));
}
Isometry3d TurnX(double angle) {
  return Isometry3d(Eigen::AngleAxisd(angle, Vector3d::UnitX()));
}

/// Standard: Rz(θ) Tz(d) Tx(a) Rx(α). Modified: Rx(α) Tx(a) Rz(θ) Tz(d). What follows θ belongs to the next joint's frame.
ArmModel FromDh(const std::vector<DhRow>& rows, bool modified) {
  ArmModel arm;
  Isometry3d carried = Isometry3d::Identity();
  for (const DhRow& row : rows) {
    const Isometry3d along = Shift(0, row.d),
                     across = modified ? TurnX(row.alpha) * Shift(row.a, 0) : Shift(row.a, 0) * TurnX(row.alpha);
    Joint joint;
    joint.X_PJ = modified ? carried * across : carried;
    carried = modified ? along : along * across;
    arm.joints.push_back(joint);
  }
  arm.links.resize(arm.joints.size());
  arm.X_EC = carried;
  return arm;
}

/// PUMA 560 as in Corke's Robotics Toolbox for Python, roboticstoolbox/models/DH/Puma560.py: standard DH, base 26.45 in high.
ArmModel Puma560() {
  return FromDh(
      {{0.67183, 0, kPi / 2}, {0, 0.4318, 0}, {0.15005, 0.0203, -kPi / 2}, {0.4318, 0, kPi / 2}, {0, 0, -kPi / 2}, {0, 0, 0}},
      false);
}

VectorXd Posture(std::initializer_list<double> q) {
  VectorXd out(Eigen::Index(q.size()));
  std::copy(q.begin(), q.end(), out.data());
  return out;
}

// The toolbox's docs/notebooks/kinematics.ipynb prints 0.5963 -0.15005 0.65748 for qn, to four or five digits; the further
// digits were computed from the same rows by hand. Zero and ready postures from the same rows.
TEST(PublishedKinematics, Puma560Poses) {
  const ArmModel arm = Puma560();
  const Isometry3d nominal = CameraPose(arm, Posture({0, kPi / 4, kPi, 0, kPi / 4, 0}));
  EXPECT_TRUE(nominal.translation().isApprox(Vector3d(0.596303, -0.15005, 0.657476), 1e-6)) << nominal.translation().transpose();
  EXPECT_TRUE(nominal.linear().col(2).isApprox(Vector3d::UnitX(), 1e-12));
  EXPECT_TRUE(CameraPose(arm, VectorXd::Zero(6)).translation().isApprox(Vector3d(0.4521, -0.15005, 1.10363), 1e-6));
  EXPECT_TRUE(CameraPose(arm, Posture({0, kPi / 2, -kPi / 2, 0, 0, 0}))
                  .translation()
                  .isApprox(Vector3d(0.0203, -0.15005, 1.53543), 1e-6));
}

// The toolbox's docs/notebooks/icra2021.ipynb and tests/test_DHRobot.py: 0.0786, of translation 0.1112, of rotation 2.4495 = √6.
TEST(PublishedKinematics, Puma560Manipulability) {
  const ArmModel arm = Puma560();
  const Jacobian J = CameraJacobian(arm, Posture({0, kPi / 4, kPi, 0, kPi / 4, 0}));
  EXPECT_NEAR(Manipulability(J), 0.0786171653, 1e-9);
  const Eigen::Matrix3d linear = J.topRows<3>() * J.topRows<3>().transpose(),
                        angular = J.bottomRows<3>() * J.bottomRows<3>().transpose();
  EXPECT_NEAR(std::sqrt(linear.determinant()), 0.1111814615, 1e-9);
  EXPECT_NEAR(std::sqrt(angular.determinant()), std::sqrt(6.0), 1e-9);
}

// Seven joints in modified DH, q = 1..7 rad: the toolbox's tests/test_DHRobot.py, test_fkine_all, printed to four digits.
// Standard DH with the same rows gives another pose: the two are not mixed up.
TEST(PublishedKinematics, SevenJointsInModifiedDh) {
  const std::vector<DhRow> rows{{0.333, 0, 0},          {0, 0, -kPi / 2},           {0.316, 0, kPi / 2},
                                {0, 0.0825, kPi / 2},   {0.384, -0.0825, -kPi / 2}, {0, 0, kPi / 2},
                                {0.107, 0.088, kPi / 2}};
  const VectorXd q = Posture({1, 2, 3, 4, 5, 6, 7});
  const Isometry3d X = CameraPose(FromDh(rows, true), q);
  EXPECT_LT((X.translation() - Vector3d(0.08575, 0.3132, 0.5321)).cwiseAbs().maxCoeff(), 6e-5) << X.translation().transpose();
  EXPECT_LT((X.linear().row(0).transpose() - Vector3d(-0.5236, 0.6902, 0.4994)).cwiseAbs().maxCoeff(), 6e-5);
  EXPECT_GT((CameraPose(FromDh(rows, false), q).translation() - X.translation()).norm(), 0.05);
}

// Yoshikawa 1985: two links in a plane, w = l1·l2·|sin θ2|. Links of 1 and 0.8 reach (1.2, 0.9) with θ = (7.328537°,
// 67.588868°) or (66.411258°, -67.588868°) by the cosine law; w = 0.7395776 for both.
TEST(PublishedKinematics, TwoLinksInAPlane) {
  ArmModel arm = FromDh({{0, 1, 0}, {0, 0.8, 0}}, false);
  for (const auto& [first_deg, second_deg] : {std::pair(7.328537, 67.588868), std::pair(66.411258, -67.588868)}) {
    const VectorXd q = Posture({first_deg * kPi / 180, second_deg * kPi / 180});
    EXPECT_LT((CameraPose(arm, q).translation() - Vector3d(1.2, 0.9, 0)).norm(), 2e-8) << "angles are given to 1e-6 deg";
    const Eigen::Matrix2d planar = CameraJacobian(arm, q).topLeftCorner<2, 2>();
    EXPECT_NEAR(std::abs(planar.determinant()), 0.7395776, 1e-7);
  }
  EXPECT_LT(std::abs(CameraJacobian(arm, Posture({0.3, 0})).topLeftCorner<2, 2>().determinant()), 1e-15) << "stretched: none";
}

}  // namespace
}  // namespace dryrig
