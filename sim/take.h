#pragma once

#include <Eigen/Geometry>
#include <cstdint>
#include <string>
#include <vector>

#include "scenes/camera.h"
#include "scenes/lesson.h"
#include "sim/body_pose.h"
#include "sim/clearance.h"
#include "sim/faults.h"
#include "sim/governed.h"
#include "sim/lens.h"
#include "sim/performance.h"
#include "sim/startle.h"

namespace dryrig {

/// Which run this is; two takes of the same identity and build are the same bits.
struct TakeIdentity {
  std::string lesson, policy, arm, bench, person, camera, sensing;
  std::string params;  // `key=value` of every policy parameter, sorted, space-separated
  uint64_t seed = 0;
  double physics_hz = 240, control_hz = 30, frame_hz = 30;
  std::string inputs_hash;  // over the text of every input file
};

/// A joint's limits, as the metrics check them.
struct JointLimit {
  std::string name;
  double lower = 0, upper = 0, velocity = 0, acceleration = 0, effort = 0;
  bool prismatic = false;  // metres, newtons; else radians, newton metres
};

/// A prop as the camera meets it.
struct TakeProp {
  std::string name;
  Shape shape;
  Eigen::Vector3d colour;
  Eigen::Vector3d tip_m = Eigen::Vector3d::Zero();  // of a tool, from its centre; zero: it has none
};

/// Everything at one camera frame. Truth, not what was sensed.
struct TakeFrame {
  Eigen::Isometry3d X_WC;
  LensState lens;
  BodyPose person;
  std::vector<Eigen::Isometry3d> X_WP;  // one a prop
  std::vector<int> carrier;             // one a prop: side of the hand that holds it, or -1
  std::vector<Eigen::Isometry3d> X_WL;  // one an arm link
  Shot chosen;                          // what the policy believes it films
  double manipulability = 0;            // Yoshikawa's, of the camera's Jacobian
  bool unreachable = false;
};

/// Everything at one physics tick.
struct TakeTick {
  Eigen::Vector3d p_WC;
  Eigen::Quaterniond q_WC;
  JointVector q, qd, q_wish, torque;
  Clearance clearance;
  double approach_mps = 0;  // speed at which the nearest pair closes; negative: parts
};

/// One recorded run, complete: metrics, pictures and exports need nothing else. Tick i is at i / physics_hz, frame i at i /
/// frame_hz.
struct Take {
  TakeIdentity id;
  double duration_s = 0;
  std::vector<TimedBeat> beats;
  std::vector<TimedIntent> intents;
  std::vector<Sentence> sentences;
  CameraBody camera;
  PersonBody person;
  Body bench_top;
  std::vector<Body> keep_out;  // in W
  Eigen::Isometry3d X_WB = Eigen::Isometry3d::Identity();
  std::vector<ArmBody> arm_bodies;
  std::vector<JointLimit> joints;
  double moving_mass_kg = 0, payload_kg = 0;  // of the arm without and of the camera, for contact estimates
  std::vector<TakeProp> props;
  std::vector<Startle> startles;        // what the arm made of the performance; poses below have them in them
  std::vector<GovernedSpell> governed;  // what a safety layer did, spell by spell; empty: there was none
  Faults faults;                        // planted
  std::vector<TakeFrame> frames;
  std::vector<TakeTick> ticks;
};

}  // namespace dryrig
