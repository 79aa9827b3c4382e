#pragma once

#include <array>
#include <vector>

#include "sim/body_pose.h"
#include "sim/hand.h"
#include "sim/recorded_person.h"
#include "sim/spline_track.h"

namespace dryrig {

/// A recorded body, whole, in the room: what the file has not is filled in from the build.
class RecordedBody {
 public:
  /// Frames [first, last] of the recording.
  RecordedBody(const RecordedLesson& lesson, size_t first, size_t last, const PersonBuild& build, const RecordedStand& stand);

  /// `u` frames after the first, which may lie between frames: C2 in u. Fingers that the file has not are `fingers`.
  /// Sets all but `hand_in_use`.
  void PoseAt(double u, const std::array<FingerPose, 2>& fingers, BodyPose* pose) const;
  /// The hand's frame H, at the wrist.
  Eigen::Isometry3d X_WH(double u, Side side) const;
  bool HasFingers(Side side) const { return finger_channel_[side] >= 0; }
  /// Which points of the pose are not from the file.
  const std::array<bool, kNumBodyPoints>& synthetic() const { return synthetic_; }

 private:
  SplineTrack track_;
  std::array<int, 2> finger_channel_{-1, -1};  // first of 60, -1: the file has none
  std::array<bool, kNumBodyPoints> synthetic_{};
  double hand_m_ = 0;
};

}  // namespace dryrig
