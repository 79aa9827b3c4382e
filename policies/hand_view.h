#pragma once

#include <Eigen/Geometry>
#include <array>
#include <vector>

#include "policies/picture.h"
#include "policies/scene_filter.h"

namespace dryrig {

/// From where around the wanted direction most landmarks of the hands are seen past fingers, palms and forearms, as far as the
/// tracked landmarks tell. One direction is looked at a tick; what is seen from each is averaged over seconds.
class HandView {
 public:
  void Reset();
  /// One tick. `far_m`: distance from which the hands are to be seen. Turns `picture` by at most 21°, and only where seeing more
  /// is worth the angle: `price` is the share of landmarks that one tolerance (15°) costs.
  void Turn(const SceneFilter& scene, const HandsInUse& hands, double far_m, double price, WantedPicture* picture);
  /// How often the landmark (BodyPoint) was seen from the chosen direction of late, [0, 1].
  double Seen(int point) const { return seen_[chosen_][static_cast<size_t>(point - kHandL)]; }

 private:
  static constexpr size_t kDirections = 25;
  void Look(const SceneFilter& scene, const HandsInUse& hands, const Eigen::Vector3d& from_W, size_t direction);

  std::array<std::array<double, size_t{2} * kHandLandmarks>, kDirections> seen_;
  std::array<double, kDirections> share_;
  std::array<bool, kDirections> looked_;
  size_t next_ = 0, chosen_ = 0;
  Eigen::Vector2d turn_ = Eigen::Vector2d::Zero();  // about the image's up and right, radians
};

}  // namespace dryrig
