#include <fmt/format.h>

#include <cmath>

#include "scenes/error.h"
#include "sim/arm_dynamics.h"
#include "sim/arm_world.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Vector3d;

namespace {

Matrix3d CrossMatrix(const Vector3d& a) {
  Matrix3d K;
  K << 0, -a.z(), a.y(), a.z(), 0, -a.x(), -a.y(), a.x(), 0;
  return K;
}

}  // namespace

ArmDynamics::ArmDynamics(const ArmModel& arm, const Eigen::Isometry3d& X_WB)
    : dof_(arm.dof()), up_B_(X_WB.linear().transpose() * Vector3d(0, 0, kGravity_mps2)) {
  if (dof_ > kMaxJoints)
    throw InputError(fmt::format("arm {}: {} moving joints, at most {} are supported", arm.name, dof_, kMaxJoints));
  for (int i = 0; i < dof_; ++i) {
    const Joint& joint = arm.joints[i];
    const Link& link = arm.links[i];
    Part& part = parts_[i];
    part.turns = joint.kind == JointKind::kRevolute;
    part.axis = joint.axis;
    part.R_PJ = joint.X_PJ.linear();
    part.p_PJ = joint.X_PJ.translation();
    part.K = CrossMatrix(joint.axis);
    part.KK = part.K * part.K;
    part.mass = link.mass_kg;
    part.p_LCom = link.p_LCom;
    part.moment_O = link.mass_kg * link.p_LCom;
    part.I_Com = link.I_LCom;
    const Matrix3d C = CrossMatrix(link.p_LCom);
    part.I_O = link.I_LCom - link.mass_kg * C * C;
  }
}

void ArmDynamics::PosesAt(const JointVector& q, Poses* poses) const {
  for (int i = 0; i < dof_; ++i) {
    const Part& part = parts_[i];
    Pose& pose = (*poses)[i];
    if (part.turns) {
      const Matrix3d R_JL = Matrix3d::Identity() + std::sin(q[i]) * part.K + (1 - std::cos(q[i])) * part.KK;
      pose.R_PL.noalias() = part.R_PJ * R_JL;
      pose.p_PL = part.p_PJ;
    } else {
      pose.R_PL = part.R_PJ;
      pose.p_PL = part.p_PJ + part.R_PJ * (q[i] * part.axis);
    }
  }
}

void ArmDynamics::NewtonEuler(const Poses& poses, const JointVector& qd, const JointVector* qdd, JointVector* tau) const {
  std::array<Vector3d, kMaxJoints> force, moment;
  Vector3d w = Vector3d::Zero(), dw = Vector3d::Zero(), a = up_B_;
  for (int i = 0; i < dof_; ++i) {
    const Part& part = parts_[i];
    const Pose& pose = poses[i];
    const Vector3d a_P = a + dw.cross(pose.p_PL) + w.cross(w.cross(pose.p_PL));
    const Vector3d w_L = pose.R_PL.transpose() * w;
    a.noalias() = pose.R_PL.transpose() * a_P;
    dw = (pose.R_PL.transpose() * dw).eval();
    const Vector3d rate = qd[i] * part.axis;
    if (part.turns) {
      dw += w_L.cross(rate);
      w = w_L + rate;
      if (qdd) dw += (*qdd)[i] * part.axis;
    } else {
      w = w_L;
      a += 2 * w.cross(rate);
      if (qdd) a += (*qdd)[i] * part.axis;
    }
    const Vector3d& c = part.p_LCom;
    force[i] = part.mass * (a + dw.cross(c) + w.cross(w.cross(c)));
    moment[i] = part.I_Com * dw + w.cross(part.I_Com * w) + c.cross(force[i]);
  }
  tau->resize(dof_);
  for (int i = dof_ - 1; i >= 0; --i) {
    const Part& part = parts_[i];
    (*tau)[i] = part.axis.dot(part.turns ? moment[i] : force[i]);
    if (i > 0) {
      const Vector3d f_P = poses[i].R_PL * force[i];
      force[i - 1] += f_P;
      moment[i - 1] += poses[i].R_PL * moment[i] + poses[i].p_PL.cross(f_P);
    }
  }
}

void ArmDynamics::Torques(const JointVector& q, const JointVector& qd, const JointVector& qdd, JointVector* tau) const {
  Poses poses;
  PosesAt(q, &poses);
  NewtonEuler(poses, qd, &qdd, tau);
}

void ArmDynamics::MassAndBias(const JointVector& q, const JointVector& qd, JointMatrix* M, JointVector* h) const {
  Poses poses;
  PosesAt(q, &poses);
  NewtonEuler(poses, qd, nullptr, h);

  M->resize(dof_, dof_);
  double mass = 0;
  Vector3d moment_O = Vector3d::Zero();
  Matrix3d I_O = Matrix3d::Zero();  // of link i and all after it, about the origin of L
  for (int i = dof_ - 1; i >= 0; --i) {
    const Part& part = parts_[i];
    mass += part.mass;
    moment_O += part.moment_O;
    I_O += part.I_O;
    // Force and moment about the origin of L that give the outer bodies a unit joint acceleration, then carried inward.
    Vector3d f = part.turns ? Vector3d(part.axis.cross(moment_O)) : Vector3d(mass * part.axis);
    Vector3d n = part.turns ? Vector3d(I_O * part.axis) : Vector3d(moment_O.cross(part.axis));
    (*M)(i, i) = part.axis.dot(part.turns ? n : f);
    for (int j = i; j > 0; --j) {
      f = (poses[j].R_PL * f).eval();
      n = (poses[j].R_PL * n + poses[j].p_PL.cross(f)).eval();
      const Part& outer = parts_[j - 1];
      (*M)(j - 1, i) = (*M)(i, j - 1) = outer.axis.dot(outer.turns ? n : f);
    }
    if (i == 0) break;
    const Vector3d& p = poses[i].p_PL;
    const Vector3d turned = poses[i].R_PL * moment_O;
    I_O = (poses[i].R_PL * I_O * poses[i].R_PL.transpose()).eval();
    I_O += (mass * p.squaredNorm() + 2 * p.dot(turned)) * Matrix3d::Identity();
    I_O -= mass * p * p.transpose() + p * turned.transpose() + turned * p.transpose();
    moment_O = turned + mass * p;
  }
}

Eigen::VectorXd InverseDynamics(const ArmModel& arm, const Eigen::Isometry3d& X_WB, const Eigen::VectorXd& q,
                                const Eigen::VectorXd& qd, const Eigen::VectorXd& qdd) {
  JointVector tau;
  ArmDynamics(arm, X_WB).Torques(q, qd, qdd, &tau);
  return tau;
}

Eigen::MatrixXd MassMatrix(const ArmModel& arm, const Eigen::VectorXd& q) {
  JointMatrix M;
  JointVector h;
  ArmDynamics(arm, Eigen::Isometry3d::Identity()).MassAndBias(q, JointVector::Zero(arm.dof()), &M, &h);
  return M;
}

}  // namespace dryrig
