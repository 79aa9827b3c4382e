#pragma once

#include <Eigen/Geometry>
#include <array>

#include "scenes/arm.h"
#include "sim/arm_dynamics.h"

namespace dryrig {

/// Seconds that a joint at `speed` needs to stand, its acceleration nothing at first and last and inside both limits: v/a + a/j,
/// or 2√(v/j) where the acceleration limit is never reached. It goes on for v/2 of that time meanwhile: such a stop is symmetric.
/// @pre speed >= 0, limits > 0.
double StopTime_s(double speed, double acceleration, double jerk);
/// How far it goes from the start of the stop until `since_s`; at the stop's end v·T/2.
double StopTravel(double speed, double acceleration, double jerk, double since_s);

/// A stop of the whole arm, every joint braked by itself as fast as its limits allow: category 1, drives on until it stands.
struct StopPlan {
  double delay_s = 0;                     // the servo's latency, in which the arm goes on as it did
  double braking_s = 0;                   // of the joint that takes longest
  double torque_share = 1;                // of the acceleration limits that the joints' efforts can give at this pose and speed
  JointVector speed, acceleration, jerk;  // joint by joint; speeds signed

  double time_s() const { return delay_s + braking_s; }
  /// Where the joints are `since_s` after the stop was asked for, from q.
  JointVector At(const JointVector& q, double since_s) const;
  /// How far each joint goes, unsigned.
  JointVector Travel() const;
};

/// Plans stops of an arm that carries its camera on a mount.
class Stopper {
 public:
  Stopper(const ArmModel& arm, const Eigen::Isometry3d& X_WB);
  /// From the actual pose and speed: braking at the limits must be within the joints' efforts together with gravity and Coriolis
  /// forces as they are now, else all brake more softly (`torque_share`, never below 0.1).
  StopPlan Plan(const JointVector& q, const JointVector& qd) const;

 private:
  ArmDynamics dynamics_;
  double delay_s_;
  JointVector acceleration_, jerk_, effort_;
};

}  // namespace dryrig
