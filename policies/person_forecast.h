#pragma once

#include <array>
#include <optional>

#include "policies/scene_filter.h"

namespace dryrig {

/// Where hands and head will be in the coming seconds. A hand on its way to a prop goes there by the minimum-jerk law (Flash &
/// Hogan, J. Neurosci. 5 (1985)) as far as its way so far speaks for that prop; what it does else goes on for a moment at the
/// speed it has.
class PersonForecast {
 public:
  /// A reach under way, as guessed.
  struct Reach {
    Eigen::Vector3d from_W = Eigen::Vector3d::Zero(), to_W = Eigen::Vector3d::Zero();
    int prop = -1;                  // index in the scene
    double done = 0, length_s = 1;  // share of its time that has gone, and all of it
    double sure = 0;                // [0, 1]
  };

  void Reset() { *this = PersonForecast(); }
  /// Once a control tick.
  void Update(const SceneFilter& scene);

  /// How far the hand's middle will be from where it is, `after_s` from now.
  Eigen::Vector3d HandShift_W(Side side, double after_s) const;
  /// The reaches' part alone: nothing for a hand that only works or sways.
  Eigen::Vector3d ReachShift_W(Side side, double after_s) const;
  Eigen::Vector3d HeadShift_W(double after_s) const;
  const std::optional<Reach>& reach(Side side) const { return hands_[side].reach; }

 private:
  struct Hand {
    Eigen::Vector3d centre_W = Eigen::Vector3d::Zero(), v_W = Eigen::Vector3d::Zero();
    Eigen::Vector3d from_W = Eigen::Vector3d::Zero();  // where it was last at rest
    double since_s = 0;                                // since then
    std::optional<Reach> reach;
  };
  static std::optional<Reach> Guess(const SceneFilter& scene, const Hand& hand);

  std::array<Hand, 2> hands_;
  Eigen::Vector3d head_v_W_ = Eigen::Vector3d::Zero();
  bool started_ = false;
};

/// The minimum-jerk law: share of the way after this share of the time, clamped to [0, 1].
double MinimumJerkWay(double time);
/// Its inverse.
double MinimumJerkTime(double way);

}  // namespace dryrig
