#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "sim/hand.h"
#include "sim/skeleton.h"
#include "sim/solid.h"

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
  bool loose = false;                                // a hand that only rests: gives way before a shoulder that comes too near
  bool over_bench = true;                            // no landmark may sink into the top,
  double higher_m = 0;                               // or into a shelf's this much higher
};

/// A goal solved: what the tracks move to.
struct HandSolution {
  Eigen::Vector3d wrist_Y = Eigen::Vector3d::Zero();
  WristAngles angles;
  Eigen::Vector3d point_Y = Eigen::Vector3d::Zero();  // as reached: the goal's, or lifted clear of the top
  Eigen::Matrix3d R_YF = Eigen::Matrix3d::Identity(), R_YH = Eigen::Matrix3d::Identity();
  double stretch = 0, swivel = 0;
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

/// What stands still about a person whose yaw frame is turned by `turn`: forearms keep out of it.
struct Surroundings {
  const std::vector<Solid>& still_W;
  double turn = 0;
};

/// Least lean of the torso, then twist, at which both hands get to their goals. `swivel`: of each elbow where nothing is in the
/// way; where the forearm would run into what surrounds it, the elbow is lifted as far as helps. `least_lean`: the posture's own.
BodySolution SolveBody(const PersonBuild& build, const std::array<HandGoal, 2>& goals, const std::array<double, 2>& swivel,
                       double bench_height_m, double least_lean, double most_lean = kMostLean,
                       const Surroundings* around = nullptr);

/// How deep the forearm's capsule is in what surrounds it, metres; negative: it is clear by at least that. Points in the yaw
/// frame.
double ForearmSunk_m(const PersonBuild& build, const Surroundings& around, const Eigen::Vector3d& elbow_Y,
                     const Eigen::Vector3d& wrist_Y);

}  // namespace dryrig
