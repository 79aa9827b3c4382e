#pragma once

#include <Eigen/Core>

#include "scenes/lesson.h"
#include "sim/rng.h"
#include "sim/skeleton.h"

namespace dryrig {

/// A hand's motion about its goal during work, faded in and out by minimum jerk, so that it adds to a still hand C2.
struct WorkSpan {
  double start_s = 0, end_s = 0, fade_s = 0.5;
  WorkMotion motion = WorkMotion::kStroke;
  bool hover = false;                                  // not work: a hand held free in the air
  double omega = 0, phase = 0;                         // of the cycle
  double drift = 0, drift_omega = 0, drift_phase = 0;  // no two cycles are alike: phase and size vary slowly
  double size_m = 0;                                   // half the span
  Eigen::Vector3d along_Y = Eigen::Vector3d::UnitY(), across_Y = Eigen::Vector3d::UnitX();
  double rise_m = 0;                                   // all of it lifted so far: fingers that tilt meanwhile stay off the bench
  double turn_rad = 0;                                 // twist: half the swing of the forearm's roll
  double roll0 = 0, roll_bias = 0;                     // twist: the goal's roll, and how far from it the swing's middle lies,
  Eigen::Matrix3d R_YF = Eigen::Matrix3d::Identity();  // with this forearm,
  Eigen::Vector3d p_R = Eigen::Vector3d::Zero();       // keeping this point, seen in the rolled forearm from the wrist, still
};

/// What a motion adds to wrist (Y frame) and forearm's roll.
struct WorkOffset {
  Eigen::Vector3d wrist_Y = Eigen::Vector3d::Zero();
  double roll = 0;
};
WorkOffset WorkAt(const WorkSpan& span, double t_s);

/// A beat's motion for one hand; `mirrored` for the second of two. How far it may leave the goal is at most WorkMargin.
WorkSpan MakeWork(const Beat& beat, bool mirrored, RandomStream& random);
double WorkMargin_m(const Beat& beat);
/// Unrest of a hand in the air.
WorkSpan MakeHover(RandomStream& random);
/// Lets a twist turn about the goal's point; keeps the roll in its working range.
void FixTwist(WorkSpan& span, Side side, const WristAngles& angles, const Eigen::Matrix3d& R_YF, const Eigen::Vector3d& p_H);

}  // namespace dryrig
