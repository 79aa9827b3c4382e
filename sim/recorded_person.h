#pragma once

#include <Eigen/Geometry>
#include <string>
#include <vector>

#include "scenes/bench.h"
#include "scenes/person.h"
#include "scenes/recorded_lesson.h"
#include "sim/skeleton.h"

namespace dryrig {

/// The person of a recording: lengths that it tells are measured, the rest are shares of its stature. Handedness, pace and how
/// heavily they are built come from `like`. Seated where the thighs lie rather than hang.
PersonSpec MeasuredPerson(const Recording& recording, const PersonSpec& like);

/// Where the recording's frame stands in the room, frame by frame: feet on the floor, hips and torso as the lesson places them.
class RecordedStand {
 public:
  /// For frames [first, last] of the recording.
  RecordedStand(const RecordedLesson& lesson, size_t first, size_t last, const PersonBuild& build);

  Eigen::Isometry3d X_WR(size_t frame) const;
  /// Farthest that the hips get from their middle, on the level, before walking is taken out.
  double strays_m() const { return strays_m_; }

 private:
  Eigen::Isometry3d Placed(const Eigen::Vector3d& from_R, double yaw) const;

  size_t first_;
  double yaw_ = 0, strays_m_ = 0;
  Eigen::Vector3d middle_R_ = Eigen::Vector3d::Zero();  // of the hips' course, on the floor
  Eigen::Vector3d at_W_ = Eigen::Vector3d::Zero();
  Eigen::Isometry3d X_WR_ = Eigen::Isometry3d::Identity();
  std::vector<Eigen::Vector3d> walk_;  // x, y, yaw of the slow course less its middle; empty: walking is kept
};

}  // namespace dryrig
