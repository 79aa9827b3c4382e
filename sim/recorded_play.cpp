#include "sim/recorded_play.h"

#include <algorithm>
#include <cmath>

#include "sim/motion.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Quaterniond;
using Eigen::Vector3d;

namespace {

constexpr double kEase_s = 0.5;

/// From rest at 0 to full pace at 1, where time is itself again; C2.
double EaseIn(double x) {
  return x * x * x * (6 + x * (-8 + 3 * x));
}

double Share(double t_s, double from_s, double to_s) {
  return to_s > from_s ? MinJerk((t_s - from_s) / (to_s - from_s)) : (t_s < from_s ? 0 : 1);
}

}  // namespace

double RecordedPlay::RowAt(double t_s) const {
  const double ease_s = std::min(kEase_s, length_s_ / 3);
  double t = std::clamp(t_s, 0.0, length_s_);
  if (t < ease_s) {
    t = ease_s * EaseIn(t / ease_s);
  } else if (t > length_s_ - ease_s) {
    t = length_s_ - ease_s * EaseIn((length_s_ - t) / ease_s);
  }
  return first_u_ + t * rate_hz_;
}

std::array<FingerPose, 2> RecordedPlay::FingersAt(double t_s) const {
  std::array<FingerPose, 2> fingers{RestingFingers(), RestingFingers()};
  for (const Carry& carry : carries_) {
    if (t_s < carry.grab_s || t_s > carry.free_s) continue;
    const double closed = Share(t_s, carry.grab_s, carry.held_s) - Share(t_s, carry.let_s, carry.free_s);
    fingers[carry.side] += closed * (carry.grip - fingers[carry.side]);
  }
  return fingers;
}

BodyPose RecordedPlay::PoseAt(double t_s) const {
  BodyPose pose;
  const double u = RowAt(t_s);
  body_->PoseAt(u, FingersAt(t_s), &pose);
  pose.hand_in_use = in_use_[std::min(static_cast<size_t>(u + 0.5), in_use_.size() - 1)];
  return pose;
}

PropPose RecordedPlay::PropAt(double t_s, size_t prop) const {
  PropPose out;
  const auto turned = [](double yaw) { return Quaterniond(Eigen::AngleAxisd(yaw, Vector3d::UnitZ())); };
  const Rest* rest = &rests_[prop];
  for (const Carry& carry : carries_) {
    if (carry.prop != prop || t_s < carry.grab_s) continue;
    if (t_s >= carry.free_s) {
      rest = &carry.after;
      continue;
    }
    // A recording knows nothing of our props: while the hand closes or opens they go over between bench and hand.
    const double taken = Share(t_s, carry.grab_s, carry.held_s), laid = Share(t_s, carry.let_s, carry.free_s);
    const Eigen::Isometry3d X_WH = body_->X_WH(RowAt(t_s), carry.side);
    const Vector3d in_hand = X_WH * carry.p_HG;
    const Quaterniond q_in_hand(X_WH.linear() * carry.R_HP);
    const Rest& ground = t_s < carry.let_s ? carry.before : carry.after;
    const double held = t_s < carry.let_s ? taken : 1 - laid;
    out.X_WP.translation() = ground.p_W + held * (in_hand - ground.p_W);
    out.X_WP.linear() = turned(ground.yaw).slerp(held, q_in_hand).toRotationMatrix();
    out.carrier = carry.side;
    return out;
  }
  out.X_WP.translation() = rest->p_W;
  out.X_WP.linear() = turned(rest->yaw).toRotationMatrix();
  return out;
}

}  // namespace dryrig
