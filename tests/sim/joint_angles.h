#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/body_pose.h"
#include "sim/hand.h"

namespace dryrig::testing {

/// A person's joints from the points of a pose alone, radians.
struct JointAngles {
  double neck_yaw = 0, neck_pitch = 0;
  struct Arm {
    double elbow = 0;               // flexion
    double shoulder_extension = 0;  // upper arm behind the trunk
    double shoulder_medial = 0;     // rotation of the elbow's hinge inwards, from where the shortest swing of the arm brings it
    double pronation = 0;           // from thumb up; towards palm down positive
    double wrist_extension = 0, wrist_radial = 0;
  };
  std::array<Arm, 2> arm;
};

/// Rotation of a hand from three of its landmarks, whose places in the palm are known.
inline Eigen::Matrix3d HandFrame(const BodyPose& pose, Side side, double hand_m) {
  using Eigen::Matrix3d, Eigen::Vector3d;
  const auto p_H = HandLandmarks(side, FingerPose::Zero(), hand_m);
  const auto basis = [](const Vector3d& a, const Vector3d& b) {
    Matrix3d R;
    R.col(0) = a.normalized();
    R.col(2) = a.cross(b).normalized();
    R.col(1) = R.col(2).cross(R.col(0));
    return R;
  };
  const auto at = [&](int i) { return pose.p_W[static_cast<size_t>(HandPoint(side, i))]; };
  return basis(at(5) - at(0), at(17) - at(0)) * basis(p_H[5], p_H[17]).transpose();
}

inline JointAngles AnglesOf(const BodyPose& pose, double hand_m) {
  using Eigen::Matrix3d, Eigen::Vector3d;
  JointAngles out;
  const Matrix3d R_WT = pose.q_WT.toRotationMatrix(), R_THd = R_WT.transpose() * pose.q_WHd.toRotationMatrix();
  out.neck_yaw = std::atan2(-R_THd(0, 1), R_THd(1, 1));
  out.neck_pitch = std::asin(std::clamp(R_THd(2, 1), -1.0, 1.0));
  for (const Side side : {kLeft, kRight}) {
    JointAngles::Arm& arm = out.arm[side];
    const double m = side == kRight ? 1 : -1;
    const auto at = [&](BodyPoint left) { return pose.p_W[static_cast<size_t>(left) + static_cast<size_t>(side)]; };
    const Vector3d upper = (at(kElbowL) - at(kShoulderL)).normalized(), fore = (at(kWristL) - at(kElbowL)).normalized();
    const Vector3d hinge = upper.cross(fore).normalized();
    arm.elbow = std::atan2(upper.cross(fore).norm(), upper.dot(fore));
    const Vector3d u = R_WT.transpose() * upper, n = R_WT.transpose() * hinge;
    arm.shoulder_extension = std::atan2(-u.y(), std::hypot(u.x(), u.z()));
    const Vector3d n0 = Eigen::Quaterniond::FromTwoVectors(-Vector3d::UnitZ(), u) * Vector3d::UnitX();
    arm.shoulder_medial = m * std::atan2(n0.cross(n).dot(u), n0.dot(n));
    // The hand in a frame along forearm and hinge, as rotations about y, x, z in turn; thumb up is neutral.
    Matrix3d R_WF;
    R_WF << hinge, fore, hinge.cross(fore);
    const Matrix3d R = R_WF.transpose() * HandFrame(pose, side, hand_m);
    arm.wrist_extension = std::asin(std::clamp(-R(1, 2), -1.0, 1.0));
    arm.pronation = std::numbers::pi / 2 - m * std::atan2(R(0, 2), R(2, 2));
    arm.wrist_radial = m * std::atan2(R(1, 0), R(1, 1));
  }
  return out;
}

}  // namespace dryrig::testing
