#include "sim/take_motion.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "scenes/error.h"
#include "sim/arm_span.h"
#include "sim/kinematics.h"
#include "sim/startle.h"

namespace dryrig {

TakeMotion::TakeMotion(const Take& take, const ArmModel& arm, const Performance& performance, double lead_s)
    : take_(&take), arm_(&arm), performance_(&performance), lead_s_(lead_s) {
  ticks_per_frame_ = static_cast<size_t>(std::lround(take.id.physics_hz / take.id.frame_hz));
  for (const ArmBody& body : take.arm_bodies) {
    if (body.link < 0) {
      ++first_part_;
      continue;
    }
    spans_.push_back(SpanOf(arm, body));
    balls_.push_back(body.body.shape.BoundingRadius());
  }
  if (arm.dof() != static_cast<int>(take.joints.size()))
    throw RunError(fmt::format("arm {} has {} joints, the take {}; name the arm that it was filmed with", arm.name, arm.dof(),
                               take.joints.size()));
  constexpr double kSame_m = 1e-9;  // the same code gives the same bits; a rebuilt library might differ in the last ones
  std::vector<Eigen::Isometry3d> X_WL;
  std::vector<Solid> parts;
  for (size_t i = 0; i < take.frames.size(); ++i) {
    const double t_s = static_cast<double>(i) / take.id.frame_hz;
    const BodyPose pose = PoseAt(t_s);
    for (size_t k = 0; k < pose.p_W.size(); ++k) {
      const double off = (pose.p_W[k] - take.frames[i].person.p_W[k]).norm();
      if (!(off < kSame_m))
        throw RunError(
            fmt::format("{} of {} stands {} m off the stored take at {:.3f} s: this build performs the lesson "
                        "otherwise; film the take again",
                        take.id.person, take.id.lesson, off, t_s));
    }
    PartsAt(take.ticks.at(i * ticks_per_frame_).q, &X_WL, &parts);
    const double off = (X_WL.back().translation() - take.frames[i].X_WL.back().translation()).norm();
    if (!(off < 1e-6))
      throw RunError(fmt::format("arm {} stands {} m off the stored take at {:.3f} s; name the arm that it was filmed with",
                                 arm.name, off, t_s));
  }
}

BodyPose TakeMotion::PoseAt(double t_s) const {
  const double in_take_s = t_s - lead_s_;
  const BodyPose on_floor =
      WithLunges(WithStartles(performance_->PoseAt(in_take_s), take_->startles, in_take_s), take_->faults.lunges, in_take_s);
  return SeenFromBench(take_->faults, on_floor, in_take_s);
}

void TakeMotion::LinksAt(const JointVector& q, std::vector<Eigen::Isometry3d>* X_WL) const {
  LinkPoses(*arm_, q, X_WL);
  for (Eigen::Isometry3d& X : *X_WL) X = take_->X_WB * X;
}

void TakeMotion::PartsAt(const JointVector& q, std::vector<Eigen::Isometry3d>* X_WL, std::vector<Solid>* parts) const {
  LinksAt(q, X_WL);
  parts->clear();
  for (size_t i = static_cast<size_t>(first_part_); i < take_->arm_bodies.size(); ++i) {
    const ArmBody& body = take_->arm_bodies[i];
    parts->push_back(MakeSolid(body.body.shape, (*X_WL)[static_cast<size_t>(body.link)] * body.body.X_LS));
  }
}

void TakeMotion::At(size_t tick, TakeInstant* out) const {
  const double t_s = static_cast<double>(tick) / take_->id.physics_hz;
  const bool next = out->tick + 1 == tick && !out->limbs.empty();
  if (next)
    out->pose_before = out->pose;
  else
    out->pose_before = PoseAt(tick == 0 ? t_s : t_s - dt_s());
  out->tick = tick;
  out->pose = PoseAt(t_s);
  PartsAt(take_->ticks[tick].q, &out->X_WL, &out->parts);
  out->limbs.clear();
  for (const PersonCapsule& capsule : take_->person.capsules) {
    out->limbs.push_back(MakeCapsule(out->pose.p_W[static_cast<size_t>(capsule.a)], out->pose.p_W[static_cast<size_t>(capsule.b)],
                                     capsule.radius_m));
  }
}

double TakeInstant::MostLimbSpeed_mps(const Take& take, int capsule, double dt_s) const {
  const PersonCapsule& limb = take.person.capsules[static_cast<size_t>(capsule)];
  const auto a = static_cast<size_t>(limb.a), b = static_cast<size_t>(limb.b);
  return std::max((pose.p_W[a] - pose_before.p_W[a]).norm(), (pose.p_W[b] - pose_before.p_W[b]).norm()) / dt_s;
}

double TakeMotion::MostSpeed_mps(const std::vector<Eigen::Isometry3d>& X_WL, int part, const JointVector& qd) const {
  const Ball ball = BallOfPart(part, X_WL);
  return dryrig::MostSpeed_mps(*arm_, X_WL, LinkOf(part), ball.middle_W, ball.radius_m, qd);
}

PointRows TakeMotion::PointRowsAt(const std::vector<Eigen::Isometry3d>& X_WL, int part, const Eigen::Vector3d& p_W) const {
  return dryrig::PointRowsAt(*arm_, X_WL, LinkOf(part), p_W);
}

Eigen::Vector3d TakeMotion::LimbVelocity(const TakeInstant& now, int capsule, const Eigen::Vector3d& p_W) const {
  const PersonCapsule& limb = take_->person.capsules[static_cast<size_t>(capsule)];
  const auto a_index = static_cast<size_t>(limb.a), b_index = static_cast<size_t>(limb.b);
  const Eigen::Vector3d &a = now.pose.p_W[a_index], &b = now.pose.p_W[b_index];
  const double squared = (b - a).squaredNorm();
  const double share = squared > 0 ? std::clamp((p_W - a).dot(b - a) / squared, 0.0, 1.0) : 0.0;
  return ((1 - share) * (a - now.pose_before.p_W[a_index]) + share * (b - now.pose_before.p_W[b_index])) / dt_s();
}

TakeMotion::Ball TakeMotion::BallOfPart(int part, const std::vector<Eigen::Isometry3d>& X_WL) const {
  const ArmBody& body = take_->arm_bodies[static_cast<size_t>(first_part_ + part)];
  return {X_WL[static_cast<size_t>(body.link)] * body.body.X_LS.translation(), balls_[static_cast<size_t>(part)]};
}

TakeMotion::Ball TakeMotion::BallOfLimb(int capsule, const BodyPose& pose) const {
  const PersonCapsule& limb = take_->person.capsules[static_cast<size_t>(capsule)];
  const Eigen::Vector3d &a = pose.p_W[static_cast<size_t>(limb.a)], &b = pose.p_W[static_cast<size_t>(limb.b)];
  return {0.5 * (a + b), 0.5 * (b - a).norm() + limb.radius_m};
}

}  // namespace dryrig
