#include "sim/joint_drive.h"

#include <fmt/format.h>

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "scenes/error.h"

namespace dryrig {

namespace {

/// Below this speed (rad/s, m/s) friction is taken as viscous, so that it can hold a joint still without chatter.
constexpr double kStictionSpeed = 0.01;

/// A joint that would come this near to its stop (rad, m) is checked in full.
constexpr double kStopZone = 0.01;

/// The arm with `share` of the camera on its last link; the rest of the camera is left out.
ArmModel KnownArm(const Stage& stage, double share) {
  ArmModel arm = stage.arm;
  const CameraBody& camera = stage.camera;
  const double missing_kg = (1 - share) * camera.mass_kg;
  if (missing_kg <= 0) return arm;
  Link& link = arm.links.back();
  if (!(missing_kg < link.mass_kg)) {
    throw InputError(
        fmt::format("arm {}: link {} weighs {} kg with the camera, but the servo is to leave out {} kg of it; "
                    "raise servo payload_known",
                    arm.name, link.name, link.mass_kg, missing_kg));
  }
  const Eigen::Vector3d p_ECam = arm.X_EC * camera.p_CHousing;
  const Eigen::Vector3d square = (2 * camera.half_m).cwiseAbs2();
  const Eigen::Vector3d box =
      missing_kg / 12 * Eigen::Vector3d(square.y() + square.z(), square.x() + square.z(), square.x() + square.y());
  const Eigen::Matrix3d R = arm.X_EC.linear();
  const auto about = [](double mass_kg, const Eigen::Vector3d& r) -> Eigen::Matrix3d {
    return mass_kg * (r.squaredNorm() * Eigen::Matrix3d::Identity() - r * r.transpose());
  };
  Eigen::Matrix3d I_O = link.I_LCom + about(link.mass_kg, link.p_LCom);
  I_O -= R * box.asDiagonal() * R.transpose() + about(missing_kg, p_ECam);
  const double left_kg = link.mass_kg - missing_kg;
  link.p_LCom = (link.mass_kg * link.p_LCom - missing_kg * p_ECam) / left_kg;
  link.I_LCom = I_O - about(left_kg, link.p_LCom);
  link.mass_kg = left_kg;
  return arm;
}

JointVector Gather(const ArmModel& arm, double Joint::*member) {
  JointVector out(arm.dof());
  for (int i = 0; i < arm.dof(); ++i) out[i] = arm.joints[i].*member;
  return out;
}

}  // namespace

JointDrive::JointDrive(const Stage& stage, const ArmModel& actual, const Eigen::VectorXd& q0, double physics_hz)
    : known_(KnownArm(stage, stage.arm.servo.payload_known), stage.bench.X_WB),
      true_(actual, stage.bench.X_WB),
      dt_s_(1 / physics_hz),
      effort_(Gather(stage.arm, &Joint::effort)),
      damping_(Gather(stage.arm, &Joint::damping)),
      friction_(Gather(stage.arm, &Joint::friction)),
      lower_(Gather(stage.arm, &Joint::lower)),
      upper_(Gather(stage.arm, &Joint::upper)) {
  for (int i = 0; i < stage.arm.dof(); ++i) {
    if (!stage.arm.joints[i].continuous) continue;
    upper_[i] = std::numeric_limits<double>::infinity();
    lower_[i] = -upper_[i];
  }
  const Servo& servo = stage.arm.servo;
  const double omega = 2 * std::numbers::pi * servo.bandwidth_hz;
  kp_ = omega * omega;
  kd_ = 2 * servo.damping_ratio * omega;
  const double steps = servo.latency_s * physics_hz;
  behind_ = static_cast<int>(std::ceil(steps));
  into_s_ = (behind_ - steps) * dt_s_;
  const JointVector zero = JointVector::Zero(stage.arm.dof());
  past_.assign(static_cast<size_t>(behind_) + 2, {q0, zero, zero});
  motor_ = net_ = wanted_ = unknown_ = zero;
}

void JointDrive::Delayed(Sample* out) const {
  const auto back = [&](int steps) -> const Sample& {
    return past_[(newest_ + past_.size() - static_cast<size_t>(steps)) % past_.size()];
  };
  const Sample& left = back(behind_);
  *out = left;
  if (behind_ == 0) return;
  // The acceleration is linear between two set points, as the tracker makes it.
  const double s = into_s_;
  const JointVector slope = (back(behind_ - 1).qdd - left.qdd) / dt_s_;
  out->q += s * (left.qd + s * (left.qdd / 2 + s * slope / 6));
  out->qd += s * (left.qdd + s * slope / 2);
  out->qdd += s * slope;
}

JointVector JointDrive::Settle(const JointVector& q0) {
  const JointVector zero = JointVector::Zero(q0.size());
  JointVector q = q0, weight, known_weight;
  JointMatrix M;
  for (int round = 0; round < 50; ++round) {
    true_.Torques(q, zero, zero, &weight);
    if ((weight.array().abs() > effort_.array()).any()) return q0;
    known_.MassAndBias(q, zero, &M, &known_weight);
    const JointVector next = q0 - M.llt().solve(weight - known_weight) / kp_;
    const double moved = (next - q).cwiseAbs().maxCoeff();
    q = next;
    if (moved < 1e-14) break;
  }
  q = q.cwiseMax(lower_).cwiseMin(upper_);
  unknown_ = kp_ * (q - q0);
  return q;
}

JointVector JointDrive::FromRest(const JointVector& q) const {
  JointMatrix M;
  JointVector h;
  true_.MassAndBias(q, JointVector::Zero(q.size()), &M, &h);
  return M.llt().solve(net_ - h);
}

void JointDrive::Drive(const JointSetPoint& wish, const JointVector& q, const JointVector& v, const DriveState& state) {
  newest_ = (newest_ + 1) % past_.size();
  past_[newest_].q = wish.q;
  past_[newest_].qd = wish.qd;
  past_[newest_].qdd = wish.qdd;
  Sample ref;
  Delayed(&ref);

  // The velocity at t is v + dt/2 (wanted_ + unknown_); solved for wanted_.
  const double half_s = dt_s_ / 2;
  wanted_ = (ref.qdd + kp_ * (ref.q - q) + kd_ * (ref.qd - v - half_s * unknown_)) / (1 + kd_ * half_s);
  JointMatrix M;
  JointVector h;
  known_.MassAndBias(q, v, &M, &h);
  net_ = M * wanted_ + h;
  const JointVector drag = damping_.array() + friction_.array() / v.array().abs().max(kStictionSpeed);
  motor_ = net_ + drag.cwiseProduct(v + half_s * (wanted_ + unknown_));
  if (!state.powered) motor_.setZero();
  if (!state.powered || (motor_.array().abs() > effort_.array()).any()) Saturate(q, v, drag);
  if (!state.brake.isZero(0)) Brake(q, v, state.brake);
  if (NearStop(q, v)) PushBack(q, v);
}

/// Too little torque. Drag is implicit (trapezoidal), or light links with much damping would swing up.
void JointDrive::Saturate(const JointVector& q, const JointVector& v, const JointVector& drag) {
  motor_ = motor_.cwiseMin(effort_).cwiseMax(-effort_);
  net_ = motor_;
  if (drag.isZero(0)) return;
  JointMatrix M;
  JointVector h;
  true_.MassAndBias(q, v, &M, &h);
  JointMatrix damped = M;
  damped.diagonal() += dt_s_ / 2 * drag;
  const JointVector qdd = damped.llt().solve(motor_ - h - drag.cwiseProduct(v));
  net_ = M * qdd + h;
}

bool JointDrive::NearStop(const JointVector& q, const JointVector& v) const {
  const JointVector ahead = q + 2 * dt_s_ * v;
  return (ahead.array().min(q.array()) < lower_.array() + kStopZone).any() ||
         (ahead.array().max(q.array()) > upper_.array() - kStopZone).any();
}

/// Adds reactions at the joints, each found by itself and all together by sweeps (projected Gauss–Seidel). `reaction` tells, from
/// joint, the acceleration without its own reaction and its mobility, the reaction it has.
template <class Reaction>
void JointDrive::React(const JointVector& q, const JointVector& v, Reaction&& reaction) {
  const int n = static_cast<int>(q.size());
  JointMatrix M;
  JointVector h;
  true_.MassAndBias(q, v, &M, &h);
  const JointMatrix inverse = M.llt().solve(JointMatrix::Identity(n, n));
  JointVector reactions = JointVector::Zero(n);
  for (int sweep = 0; sweep < 50; ++sweep) {
    double most = 0;
    for (int i = 0; i < n; ++i) {
      const double qdd = inverse.row(i).dot(net_ + reactions - h);
      const double free = qdd - inverse(i, i) * reactions[i];
      const double next = reaction(i, free, inverse(i, i));
      most = std::max(most, std::abs(next - reactions[i]) * inverse(i, i));
      reactions[i] = next;
    }
    if (most * dt_s_ * dt_s_ < 1e-15) break;
  }
  net_ += reactions;
}

/// Dry friction that bears so much: the joint stands at the step's end if that is enough.
void JointDrive::Brake(const JointVector& q, const JointVector& v, const JointVector& bears) {
  React(q, v,
        [&](int i, double free, double mobility) { return std::clamp((-v[i] / dt_s_ - free) / mobility, -bears[i], bears[i]); });
}

/// The stops' reactions: the least torques that keep the step's end inside.
void JointDrive::PushBack(const JointVector& q, const JointVector& v) {
  // Accelerations at which the step ends on the stop; a joint that a contact has pushed beyond is kept from going further.
  const JointVector low = (lower_.cwiseMin(q) - q - dt_s_ * v) / (dt_s_ * dt_s_);
  const JointVector high = (upper_.cwiseMax(q) - q - dt_s_ * v) / (dt_s_ * dt_s_);
  React(q, v, [&](int i, double free, double mobility) { return (std::clamp(free, low[i], high[i]) - free) / mobility; });
}

}  // namespace dryrig
