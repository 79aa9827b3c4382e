#pragma once

#include "scenes/camera_track.h"
#include "scenes/joint_log.h"
#include "scenes/recorded_lesson.h"
#include "sim/run.h"

namespace dryrig {

/// The policy's name in the identity of a take that was recorded on a set.
inline constexpr const char* kLoggedPolicy = "recorded";

/// The arm's log's clock by the person's track's: log time = offset_s + rate ×
/// track time.
struct LogClock {
  double offset_s = 0, rate = 1;
  double sigma_s = 0;  // of the offset; 0: as they stand
  double match = 0;    // of the motions that it was found by; 0: as they stand
  double LogTime(double track_s) const { return offset_s + rate * track_s; }
  double TrackTime(double log_s) const { return (log_s - offset_s) / rate; }
};

/// The log's clock by the camera's track's, from how fast the camera turns and
/// goes by either: a mount that is another does not matter. The rate comes from
/// the first and the last part of what overlaps, where that is 30 s at least.
/// @throws InputError where the two have no motion in common.
LogClock FindLogClock(const JointLog& log, const CameraTrack& track, const ArmModel& arm);

/// The log's joints at a time of its clock, cubic between samples; `qd` may be
/// null.
class LogCurve {
 public:
  explicit LogCurve(const std::vector<double>& t_s, const std::vector<Eigen::VectorXd>& values) : t_s_(t_s), values_(values) {}
  void At(double t_s, JointVector* q, JointVector* qd) const;

 private:
  const std::vector<double>& t_s_;
  const std::vector<Eigen::VectorXd>& values_;
};

/// Key, carried props and hands in use of a rehearsed performance that begins
/// at `begins_s` of a track's clock, as far as they lie in [from_s, to_s] of
/// it.
RecordedLesson RehearsedParts(const Performance& rehearsal, double begins_s, double from_s, double to_s);

/// A take of what was recorded: the person from setup.lesson, the joints from
/// the log; commanded joints are the set points where the log has them, else
/// the measured ones; torques by inverse dynamics from the motion within 33 ms
/// on either side; the lens from the log, else its shortest focal length,
/// focused on the hands. The chosen shots are not known: all `hands`.
/// @throws InputError: setup.lesson is not recorded, or the log does not span
/// it.
Take FilmLog(const TakeSetup& setup, const JointLog& log, const LogClock& clock);

}  // namespace dryrig
