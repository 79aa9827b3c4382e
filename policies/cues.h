#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "policies/picture.h"
#include "policies/scene_filter.h"
#include "scenes/stage.h"

namespace dryrig {

/// What the instructor does, as far as tracked joints and props tell. Each is true once its evidence has lasted.
struct Cues {
  std::string pointed_at;   // prop an outstretched index finger points at; empty: none
  std::string raised;       // prop held up for show; empty: none
  bool working = false;     // a hand is at something on the bench and the eyes are on it
  bool addressing = false;  // head up to the front, hands at rest
  double torso_rad = 0;  // which way the shoulders face: about the vertical, to the instructor's left positive, 0 over the bench
  bool turned = false;   // the torso faces away from the bench to a side, the head up
  HandsInUse hands{true, true};  // which hands take part: away from where they rest, or were a moment ago
};

/// Evidence over time for each cue, with hysteresis; reads nothing but the scene. Where the hands rest is learnt while the head
/// is up and they are still.
class CueReader {
 public:
  void Reset(const Stage& stage);
  const Cues& Update(const SceneFilter& scene);

 private:
  void FollowHands(const SceneFilter& scene);
  bool Holds(const SceneFilter& scene, Side side) const;
  void ReadPointing(const SceneFilter& scene);
  void ReadRaised(const SceneFilter& scene);
  void ReadWork(const SceneFilter& scene);
  void ReadAddress(const SceneFilter& scene);
  void ReadTorso(const SceneFilter& scene);

  const Stage* stage_ = nullptr;
  Cues cues_;
  std::vector<std::optional<Eigen::Vector3d>> lay_;               // where each prop was when no hand was at it
  std::vector<double> aim_, lift_;                                // evidence by prop, seconds
  std::array<double, 2> extended_{0, 0};                          // of an outstretched index, seconds
  std::array<double, 2> work_{0, 0}, away_{0, 0}, in_use_{0, 0};  // evidence by hand, seconds
  std::array<Eigen::Vector3d, 2> slow_centre_, slow_v_, rest_;    // hand's middle, its velocity, where it rests (from the pelvis)
  std::array<double, 2> still_{0, 0};
  double address_ = 0, since_raised_s_ = 1e9;
  double turned_ = 0;  // evidence, seconds
  bool head_up_ = true, started_ = false;
};

/// Is the index finger outstretched and the others curled? Share in [0, 1]: 1 for a clear pointing hand.
double PointingShape(const SceneFilter& scene, Side side);
/// Angle between the pointing ray and the direction from the index finger's tip to a point, radians. The ray is the finger's own,
/// steadied by the palm's where the hand is straight.
double PointingAngle_rad(const SceneFilter& scene, Side side, const Eigen::Vector3d& p_W);

}  // namespace dryrig
