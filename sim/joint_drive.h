#pragma once

#include <vector>

#include "scenes/stage.h"
#include "sim/arm_dynamics.h"
#include "sim/arm_world.h"
#include "sim/faults.h"

namespace dryrig {

/// The arm's drives: computed torque on the arm as its controller knows it (`payload_known` of the camera's mass), late by the
/// servo's latency, limited to each joint's effort. They make up for the joints' own damping and friction while torque lasts.
/// A joint's end stops are hard: no torque takes it past them.
///
/// The engine steps velocity before position, so what it calls the velocity at t is the one half a step earlier. Feedback here
/// uses the velocity at t itself, partly implicit, which makes the loop second order in the step: 240 Hz tracks like 960 Hz.
class JointDrive {
 public:
  /// `actual`: the stage's arm as it is, which the drives do not know. @throws InputError if the last link is lighter than the
  /// share of the camera to be left out.
  JointDrive(const Stage& stage, const ArmModel& actual, const Eigen::VectorXd& q0, double physics_hz);

  /// Starts from rest under the set point q0: where the arm then stands, by what its servo does not know of the weight. q0 itself
  /// if the efforts do not hold it.
  JointVector Settle(const JointVector& q0);
  /// Acceleration that the torques of the last Drive give an arm at rest at q.
  JointVector FromRest(const JointVector& q) const;

  /// Torques for the step from t to t + 1/physics_hz. `v`: velocity half a step before t. Allocates nothing.
  void Drive(const JointSetPoint& wish, const JointVector& q, const JointVector& v, const DriveState& state);
  const JointVector& motor() const { return motor_; }  // within the efforts
  const JointVector& net() const { return net_; }      // what moves the links: motor less damping and friction
  /// What the step did: the acceleration that came of it.
  void Learn(const JointVector& qdd) { unknown_ = qdd - wanted_; }

 private:
  struct Sample {
    JointVector q, qd, qdd;
  };
  void Delayed(Sample* out) const;
  void Saturate(const JointVector& q, const JointVector& v, const JointVector& drag);
  void Brake(const JointVector& q, const JointVector& v, const JointVector& bears);
  bool NearStop(const JointVector& q, const JointVector& v) const;
  void PushBack(const JointVector& q, const JointVector& v);
  template <class Reaction>
  void React(const JointVector& q, const JointVector& v, Reaction&& reaction);

  ArmDynamics known_, true_;
  double dt_s_, kp_, kd_;
  JointVector effort_, damping_, friction_, lower_, upper_;  // a joint that turns without end has infinite stops
  std::vector<Sample> past_;                                 // ring of the latest set points
  size_t newest_ = 0;
  int behind_;                                  // steps from the newest sample back to the one before the delayed instant
  double into_s_;                               // from that sample to the instant
  JointVector motor_, net_, wanted_, unknown_;  // unknown_: acceleration that the known arm does not explain, last step's
};

}  // namespace dryrig
