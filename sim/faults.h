#pragma once

#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "scenes/arm.h"
#include "scenes/camera.h"
#include "sim/arm_dynamics.h"
#include "sim/body_pose.h"
#include "sim/lunge.h"

namespace dryrig {

/// What can break, to be planted in a take. None by default; those that begin do so at `at_s`.
struct Faults {
  double at_s = 10;
  int stuck_joint = 0;          // from 1: it seizes for good; 0: none
  double tracker_frozen_s = 0;  // so long the tracker repeats what it saw at at_s, as if fresh
  double payload_kg = 0;        // all along: the camera is so much heavier than servo, tracker and safety layer know
  bool power_lost = false;      // for good: no torque but the brakes', once they have closed
  double brake_delay_s = 0.1;   // until then it sags. Holding brakes take 50–150 ms (common practice, from memory)
  double brake_share = 1;       // of a joint's effort that its brake bears
  Eigen::Vector2d bench_m = Eigen::Vector2d::Zero();  // bench, arm and all that lies there are shoved so far within 0.4 s
  std::vector<Lunge> lunges;

  bool any() const;
  /// What was planted, a line each, as a report says it.
  std::vector<std::string> Told(const std::vector<std::string>& joint_names) const;
};

/// @throws InputError for a joint that the arm does not have.
void RequireFits(const Faults& faults, const ArmModel& arm);

/// What the drives can do at an instant.
struct DriveState {
  bool powered = true;
  JointVector brake;  // N·m (N) of dry friction that holds each joint
};
DriveState DriveStateAt(const Faults& faults, const ArmModel& arm, double t_s);

/// The arm as it is, its camera heavier than declared by a mass at the housing's middle. `arm` carries its camera.
ArmModel LoadedArm(ArmModel arm, const CameraBody& camera, double payload_kg);

/// W stays with the bench: how far the bench has gone from where it was, minimum jerk, and its acceleration.
Eigen::Vector3d BenchMoved(const Faults& faults, double t_s);
Eigen::Vector3d BenchAcceleration(const Faults& faults, double t_s);
/// A pose of somebody who stands on the floor, seen from the bench.
BodyPose SeenFromBench(const Faults& faults, BodyPose pose, double t_s);

}  // namespace dryrig
