#pragma once

#include <Eigen/Core>
#include <array>
#include <vector>

#include "scenes/bench.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "sim/hand.h"
#include "sim/motion.h"
#include "sim/performance.h"
#include "sim/skeleton.h"
#include "sim/work_motion.h"

namespace dryrig {

/// One hand over the lesson. `reach`: wrist in the yaw frame, then roll, flex, deviate of the wrist, then the elbow's swivel.
struct HandScript {
  MinJerkTrack<7> reach;
  MinJerkTrack<kNumFingerAngles> fingers;
  std::vector<WorkSpan> work;  // in order of time, none overlaps another
  std::array<Wander, 3> tremor;
};

/// A prop in a hand: still until grab_s, with the hand from held_s to let_s, still again from free_s. While it is carried,
/// R_YP = Rx(tilt) Rz(yaw), and its grip point is the hand's.
struct PropCarry {
  Side side = kRight;
  double grab_s = 0, held_s = 0, let_s = 1e300, free_s = 1e300;
  bool passed = false;  // until grab_s it was with the other hand, in the carry before
  Eigen::Vector3d p_HG = Eigen::Vector3d::Zero(), p_PG = Eigen::Vector3d::Zero();
  MinJerkTrack<2> set;  // tilt, yaw
};
struct PropRest {
  Eigen::Vector3d p_W = Eigen::Vector3d::Zero();
  double yaw_W = 0;
};
struct PropScript {
  std::vector<PropRest> rests;  // before the first carry, after each; after one that ends in a pass: never used
  std::vector<PropCarry> carries;
};

/// A shift of weight: the hips go aside under still shoulders and come back.
struct Fidget {
  double start_s = 0, end_s = 0;
  double aside_m = 0, twist = 0;
};

/// A lesson laid out on the time line for one person and seed.
struct Script {
  double duration_s = 0;
  std::vector<TimedBeat> beats;
  std::vector<std::array<bool, 2>> hand_in_use;  // one a beat
  std::vector<TimedIntent> intents;
  std::vector<Sentence> sentences;
  MinJerkTrack<3> torso;           // turn, lean, twist
  MinJerkTrack<1> back;            // of the whole person from the bench, metres
  std::vector<Fidget> fidgets;     // in order of time, none overlaps another
  MinJerkTrack<3> gaze_W, head_W;  // points looked at by eyes and head
  std::array<HandScript, 2> hands;
  std::vector<PropScript> props;
  Wander sway_x, sway_y, sway_lean, sway_twist, sway_roll, breath;
};

/// @throws InputError naming beat, hand and prop where this person cannot reach.
Script WriteScript(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed);

/// Intents on the time line, from cue's completion on: see performance.h. `cues` in order of beats.
struct Cue {
  double start_s = 0, beat_end_s = 0;
  const Shot* shot = nullptr;
  int beat = 0;
};
std::vector<TimedIntent> LayIntents(const std::vector<Cue>& cues);

}  // namespace dryrig
