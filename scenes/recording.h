#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "scenes/track_point.h"

namespace dryrig {

/// Where a point's position at a frame comes from: the file, a short gap bridged, or a gap too long to bridge (its position
/// there is no more than a line between its ends).
enum class PointState : uint8_t { kMeasured, kFilled, kLost };

/// A bone as measured over the recording.
struct RecordedSegment {
  std::string name;  // "left thigh"
  TrackPoint a, b;
  double length_m = 0;  // median
  double spread = 0;    // longest less shortest, over the median
};

/// A time over which a point was lost, on the recording's clock.
struct RecordedGap {
  TrackPoint point;
  double from_s = 0, to_s = 0;
  bool filled = true;  // else lost
};

/// What was understood of a file, for people.
struct RecordingFacts {
  std::string unit;  // "cm", or how the scale was found
  double metres_per_unit = 1;
  std::string up;                                          // axis of the file that points up: "+y"
  std::vector<std::pair<std::string, TrackPoint>> mapped;  // name in the file, ours
  std::vector<std::string> unmapped;
  std::vector<RecordedSegment> segments;
  std::vector<RecordedGap> gaps;
  std::vector<std::string> notes;  // whatever was assumed or left out, one sentence each
};

/// A person's motion as recorded: positions at a steady rate. Frame R: metres, z up, otherwise where the file put it.
struct Recording {
  std::string name;    // file stem
  std::string format;  // "BVH", "pose track"
  double rate_hz = 0;
  double start_s = 0;  // of the first frame, on the recording's clock
  size_t frames = 0;
  std::array<int, kNumTrackPoints> column;  // of each point in a frame's row, -1: not in the file
  int columns = 0;
  std::vector<Eigen::Vector3d> p_R;                     // frames × columns
  std::vector<PointState> states;                       // frames × columns; empty: all measured
  std::vector<Eigen::Quaterniond> q_RHd;                // of the head (see BodyPose) at each frame; empty: not in the file
  std::array<std::vector<Eigen::Quaterniond>, 2> q_RH;  // of each hand (see sim/hand.h); empty: not in the file
  double stature_m = 0;                                 // estimated from the bones
  RecordingFacts facts;

  bool Has(TrackPoint point) const { return column[static_cast<size_t>(point)] >= 0; }
  /// @pre Has(point).
  const Eigen::Vector3d& At(size_t frame, TrackPoint point) const {
    return p_R[frame * static_cast<size_t>(columns) + static_cast<size_t>(column[static_cast<size_t>(point)])];
  }
  double duration_s() const { return frames < 2 ? 0 : static_cast<double>(frames - 1) / rate_hz; }
  /// Middle of the hips, or the pelvis where the file has no hips.
  Eigen::Vector3d HipsAt(size_t frame) const;
  Eigen::Vector3d ShouldersAt(size_t frame) const;
  /// Every finger of this hand has its points.
  bool HasFingers(int side) const;
};

/// How a file is to be read where guessing is not wanted; empty or 0: guess.
struct RecordingHints {
  std::string unit;      // mm, cm, m, inch
  std::string up;        // x, y, z, -x, -y, -z
  double stature_m = 0;  // scales to it, whatever the unit
};

/// Most that is read: a recording is a lesson, and those last 20 minutes at most.
inline constexpr size_t kMostFrames = 150'000;
inline constexpr size_t kMostRecordedBytes = size_t{192} << 20;

/// x to the person's right, y ahead of the chest, z along the trunk, as columns; right-handed whatever the points say.
Eigen::Matrix3d TrunkAxes(const Recording& recording, size_t frame);

/// The file's axes and unit, guessed from the body where the hints do not say.
struct FileFrame {
  Eigen::Matrix3d R_RF = Eigen::Matrix3d::Identity();  // turns `up` to z
  double metres_per_unit = 1;
  std::string up, unit;
};
/// What every format needs first, while positions stand in the file's own axes and unit. @throws InputError naming the file:
/// points without which no performance can be made, a body of no size, hints that make no sense.
FileFrame FindFrame(const Recording& recording, const RecordingHints& hints, const std::string& file_name);
/// What every format needs last: turns, scales, and measures the bones.
void SettleRecording(const FileFrame& frame, Recording* recording);
/// Notes the fastest point, if it is faster than people move.
void NoteJumps(Recording* recording);

}  // namespace dryrig
