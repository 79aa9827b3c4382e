#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "scenes/stage.h"
#include "sim/arm_ik.h"
#include "sim/arm_world.h"
#include "sim/glide.h"
#include "sim/joint_brake.h"
#include "sim/policy.h"

namespace dryrig {

/// Turns Moves into joint set points under position, velocity, acceleration and jerk limits. The acceleration is linear in
/// time between control ticks, so the set point does not depend on the physics rate.
///
/// A Move becomes a goal posture; the joints glide to it together on minimum-jerk paths. A look-ahead keeps for every joint a
/// way to stop inside its limits at all times: 2° (5 mm) inside the position limits, at most 95 % of the velocity limit.
class Tracker {
 public:
  /// The stage outlives the tracker. @throws InputError naming the joint if q0 is outside its limits or a limit is not positive.
  Tracker(const Stage& stage, const Eigen::VectorXd& q0, double control_hz);

  /// A new control period begins: choose its acceleration ramp.
  void Follow(const Move& move);
  /// Takes back what Follow chose for this period: the arm brakes in it.
  void Hold();
  /// Set point `dt_s` into the present period, [0, 1/control_hz]. Without a Follow in it the arm brakes.
  void At(double dt_s, JointSetPoint* out) const;
  /// Ends the period: its end becomes the next one's start.
  void Advance();
  /// The last Move's target could not be reached (farther than 20 mm or 3° at the nearest posture found).
  bool unreachable() const { return unreachable_; }

 private:
  void SeekPose(const CameraTarget& target);
  void SeekPosture(const JointTarget& target);
  JointVector NearestTurns(JointVector q) const;
  double Strain(int periods) const;
  int ShortestGlide(int at_least) const;

  const ArmModel* arm_;
  Eigen::Isometry3d X_WB_;
  double period_s_;
  std::vector<JointRail> rails_;
  JointVector lower_, upper_;  // of goals: a little inside the rails' bounds
  Glide glide_;
  ArmIk ik_;
  JointVector goal_, goal_rate_;  // posture sought, and how fast it moves
  Eigen::Isometry3d X_BGoal_;     // camera pose that goal_ is for
  bool has_pose_ = false, settled_ = false;
  int periods_left_ = 0;   // of the glide to the goal
  bool on_path_ = true;    // the rails allowed what the glide asked for
  bool followed_ = false;  // in this period
  bool unreachable_ = false;
};

}  // namespace dryrig
