#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "scenes/pose_track.h"

namespace dryrig {

/// A point where it was seen.
struct SeenPoint {
  double t_s = 0;
  Eigen::Vector3d p = Eigen::Vector3d::Zero();
};

/// Frame i of a steady clock is at start_s + i / rate_hz.
struct FrameClock {
  double start_s = 0, rate_hz = 0;
  size_t frames = 0;
};

/// The point at every frame, and where each comes from. Seen at a frame's very time it is taken as it is. @pre `seen` is in order
/// of time and not empty.
struct FilledPoint {
  std::vector<Eigen::Vector3d> p;
  std::vector<PointState> states;
};
FilledPoint FillGaps(const std::vector<SeenPoint>& seen, const FrameClock& clock, double most_gap_s);

/// Low-pass as TrackRepair has it, in place. Leaves the values alone where the rate is too low for the cutoff: false.
bool LowPass(double rate_hz, double cutoff_hz, std::vector<Eigen::Vector3d>* p);

/// The same for every point and turn of a recording. @throws InputError where its rate is too low for the cutoff.
void SmoothRecording(double cutoff_hz, const std::string& file_name, Recording* recording);

/// Spans of frames that are not measured, of one point.
std::vector<RecordedGap> GapsOf(TrackPoint point, const std::vector<PointState>& states, const FrameClock& clock);

}  // namespace dryrig
