#pragma once

#include <fmt/format.h>

#include <numbers>
#include <string>

#include "scenes/stage.h"
#include "sim/arm_dynamics.h"
#include "sim/arm_world.h"
#include "sim/kinematics.h"
#include "sim/rng.h"

// Arms made in code, invented for the tests: plain numbers, general inertias, one solid a link.
namespace dryrig::test {

inline constexpr double kDeg = std::numbers::pi / 180;

struct Axis {
  Eigen::Vector3d p_PJ, axis;
  double mass_kg, lower_deg, upper_deg;
};

/// A link of a full inertia tensor: a solid box, turned so that no axis of it is an axis of the link.
inline Link SkewLink(const std::string& name, double mass_kg, const Eigen::Vector3d& p_LCom) {
  Link link;
  link.name = name;
  link.mass_kg = mass_kg;
  link.p_LCom = p_LCom;
  const Eigen::Matrix3d R =
      (Eigen::AngleAxisd(0.4, Eigen::Vector3d::UnitX()) * Eigen::AngleAxisd(-0.7, Eigen::Vector3d::UnitZ())).toRotationMatrix();
  link.I_LCom = R * Eigen::Vector3d(0.004, 0.007, 0.009).asDiagonal() * R.transpose() * mass_kg;
  Body body;
  body.name = name;
  body.shape = Shape::Capsule(0.03, 0.02);
  body.X_LS.translation() = p_LCom;
  link.bodies.push_back(body);
  return link;
}

inline ArmModel MakeArm(const std::string& name, const std::vector<Axis>& axes) {
  ArmModel arm;
  arm.name = name;
  for (size_t i = 0; i < axes.size(); ++i) {
    Joint joint;
    joint.name = fmt::format("j{}", i + 1);
    joint.X_PJ.translation() = axes[i].p_PJ;
    joint.axis = axes[i].axis;
    joint.lower = axes[i].lower_deg * kDeg;
    joint.upper = axes[i].upper_deg * kDeg;
    joint.velocity = 150 * kDeg;
    joint.acceleration = 10;
    joint.jerk = 80;
    joint.effort = 150;
    arm.joints.push_back(joint);
    const Eigen::Vector3d half_out = i + 1 < axes.size() ? Eigen::Vector3d(axes[i + 1].p_PJ / 2) : Eigen::Vector3d(0, 0, 0.04);
    arm.links.push_back(SkewLink(fmt::format("l{}", i + 1), axes[i].mass_kg, half_out + Eigen::Vector3d(0.01, -0.02, 0.005)));
  }
  arm.X_EC.translation() = Eigen::Vector3d(0, 0, 0.08);
  arm.home = Eigen::VectorXd::Zero(arm.dof());
  return arm;
}

/// Turn, shoulder, elbow, roll, wrist, flange; stretched up at zero.
inline ArmModel SixAxes() {
  using Eigen::Vector3d;
  const Vector3d x = Vector3d::UnitX(), y = Vector3d::UnitY(), z = Vector3d::UnitZ();
  (void)x;
  ArmModel arm = MakeArm("six", {{{0, 0, 0.1}, z, 4, -170, 170},
                                 {{0.02, 0, 0.1}, y, 5, -120, 120},
                                 {{0, 0, 0.35}, y, 3, -150, 150},
                                 {{0.01, 0, 0.15}, z, 1.5, -180, 180},
                                 {{0, 0, 0.2}, y, 1, -120, 120},
                                 {{0, 0, 0.08}, z, 0.4, -350, 350}});
  arm.home << 0, 0.6, 1.2, 0, 0.9, 0;
  return arm;
}

inline ArmModel SevenAxes() {
  using Eigen::Vector3d;
  const Vector3d y = Vector3d::UnitY(), z = Vector3d::UnitZ();
  ArmModel arm = MakeArm("seven", {{{0, 0, 0.15}, z, 4, -170, 170},
                                   {{0, 0, 0.19}, y, 4, -110, 110},
                                   {{0, 0, 0.21}, z, 3, -170, 170},
                                   {{0.02, 0, 0.19}, y, 3, -120, 120},
                                   {{-0.02, 0, 0.21}, z, 1.7, -170, 170},
                                   {{0, 0, 0.19}, y, 1.6, -115, 115},
                                   {{0.08, 0, 0}, z, 0.5, -170, 170}});
  arm.home << 0, 0.5, 0, 1.1, 0, 0.8, 0;
  return arm;
}

/// Turning and sliding joints mixed, axes and joint frames askew: nothing cancels.
inline ArmModel SkewFour() {
  using Eigen::Vector3d;
  ArmModel arm = MakeArm("skew", {{{0.1, 0.02, 0.1}, Vector3d(1, 2, 3).normalized(), 4, -170, 170},
                                  {{0.05, 0.1, 0.2}, Vector3d(-1, 1, 0.5).normalized(), 3, -170, 170},
                                  {{0, 0.1, 0.2}, Vector3d(0.2, -1, 1).normalized(), 2, -170, 170},
                                  {{0.2, 0, 0.1}, Vector3d(1, 0.3, -1).normalized(), 1, -170, 170}});
  for (Joint& joint : arm.joints) {
    joint.X_PJ.linear() =
        (Eigen::AngleAxisd(0.5, Vector3d(1, -1, 2).normalized()) * Eigen::AngleAxisd(1.1, Vector3d::UnitX())).toRotationMatrix();
  }
  arm.joints[2].kind = JointKind::kPrismatic;
  return arm;
}

/// A stage with the arm mounted beside the bench, high above it, carrying a camera of `camera_kg` (0: none).
inline Stage MakeTestStage(const ArmModel& arm, double camera_kg = 0) {
  Stage stage;
  stage.bench.X_WB = Eigen::Translation3d(1.5, 0.3, 1.2) * Eigen::AngleAxisd(0.3, Eigen::Vector3d(0.2, 1, 0.1).normalized());
  stage.camera.mass_kg = camera_kg;
  stage.arm = camera_kg > 0 ? WithCamera(arm, stage.camera) : arm;
  return stage;
}

/// The same with its base level.
inline Stage MakeLevelStage(const ArmModel& arm, double camera_kg = 0) {
  Stage stage = MakeTestStage(arm, camera_kg);
  stage.bench.X_WB.linear().setIdentity();
  return stage;
}

/// No drive: it falls freely.
inline ArmModel Limp(ArmModel arm) {
  for (Joint& joint : arm.joints) joint.effort = 0;
  return arm;
}

inline Eigen::VectorXd RandomPosture(const ArmModel& arm, RandomStream* random, double share = 0.9) {
  Eigen::VectorXd q(arm.dof());
  for (int i = 0; i < arm.dof(); ++i) {
    const double middle = (arm.joints[i].lower + arm.joints[i].upper) / 2;
    q[i] = middle + random->Uniform(-share, share) * (arm.joints[i].upper - middle);
  }
  return q;
}

inline Eigen::VectorXd RandomVector(int n, double most, RandomStream* random) {
  Eigen::VectorXd v(n);
  for (int i = 0; i < n; ++i) v[i] = random->Uniform(-most, most);
  return v;
}

inline JointSetPoint Hold(const Eigen::VectorXd& q) {
  return {q, Eigen::VectorXd::Zero(q.size()), Eigen::VectorXd::Zero(q.size())};
}

inline std::vector<ArmModel> TestArms() {
  return {test::SixAxes(), test::SevenAxes(), test::SkewFour()};
}

inline double PotentialEnergy(const Stage& stage, const Eigen::VectorXd& q) {
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage.arm, q, &X_BL);
  double energy = 0;
  for (int i = 0; i < stage.arm.dof(); ++i) {
    energy += stage.arm.links[i].mass_kg * kGravity_mps2 * (stage.bench.X_WB * X_BL[i] * stage.arm.links[i].p_LCom).z();
  }
  return energy;
}

}  // namespace dryrig::test
