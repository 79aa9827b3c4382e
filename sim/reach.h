#pragma once

#include <Eigen/Core>
#include <array>

#include "sim/hand.h"
#include "sim/skeleton.h"

namespace dryrig {

/// How a hand is held at its goal.
enum class HandHold { kPalmDown, kPalmIn, kPointing };

/// Where and how a hand shall be, in the yaw frame Y.
struct HandGoal {
  Eigen::Vector3d point_Y = Eigen::Vector3d::Zero();  // where the hand's point p_H goes
  Eigen::Vector3d p_H = Eigen::Vector3d::Zero();      // metres
  FingerPose fingers = RestingFingers();
  HandHold hold = HandHold::kPalmDown;
  double pitch = 0;  // palm down: wished fall of the hand below the horizontal; more if reach asks
  Eigen::Vector3d aim_Y = Eigen::Vector3d::UnitY();  // pointing: the straight index's direction,
  double aim_bend = 0;                               // its flexion at the knuckle,
  double aim_roll = 0;                               // and the hand's turn about it, from palm down to thumb up
  double margin_m = 0;                               // motion about the point that must stay within reach
  double width_m = 0.05;                             // of the target, for Fitts's law
  bool over_bench = true;                            // no landmark may sink into the top
};

/// A goal solved: what the tracks move to.
struct HandSolution {
  Eigen::Vector3d wrist_Y = Eigen::Vector3d::Zero();
  WristAngles angles;
  Eigen::Vector3d point_Y = Eigen::Vector3d::Zero();  // as reached: the goal's, or lifted clear of the top
  Eigen::Matrix3d R_YF = Eigen::Matrix3d::Identity(), R_YH = Eigen::Matrix3d::Identity();
  double stretch = 0;
  double miss_m = 0;  // left between the hand's point and point_Y
};
struct BodySolution {
  bool reached = false;
  int worst_hand = kRight;
  double need_m = 0, have_m = 0;  // not reached: shoulder to wrist, and what the arm has
  double lean = 0, twist = 0;
  std::array<HandSolution, 2> hands;
};

/// The torso's farthest lean, radians.
inline constexpr double kMostLean = 0.75;

/// Least lean of the torso, then twist, at which both hands get to their goals. `least_lean`: the posture's own.
BodySolution SolveBody(const PersonBuild& build, const std::array<HandGoal, 2>& goals, const std::array<double, 2>& swivel,
                       double bench_height_m, double least_lean, double most_lean = kMostLean);

}  // namespace dryrig
