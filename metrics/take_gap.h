#pragma once

#include "metrics/metric.h"
#include "scenes/camera_track.h"
#include "sim/logged_take.h"

namespace dryrig {

/// One metric of a rehearsal and of what was recorded, and where the difference comes from: the rehearsal is made the recording
/// one part after another, and scored anew each time, so that the parts add up to the difference. None: one of the two scores was
/// none.
struct GapRow {
  size_t metric = 0;  // in Metrics()
  std::optional<double> rehearsed, recorded;
  std::optional<double> person;      // the person, their props and speech were others
  std::optional<double> commanded;   // the arm was told otherwise: the tracker was late, or saw otherwise
  std::optional<double> followed;    // the arm followed otherwise, or its model is another
  std::optional<double> calibrated;  // the camera as tracked from outside, less as the joints say; not part of the difference
};

/// What differs between two takes of one lesson over the time that both have. Root mean squares.
struct TakeGap {
  double start_s = 0, length_s = 0;                      // on the rehearsal's time
  double person_m = 0;                                   // wrists and head
  double commanded_rad = 0;                              // set points, over all joints (sliding ones count metres)
  double lag_rehearsed_rad = 0, lag_recorded_rad = 0;    // measured less set points
  double camera_m = 0, camera_rad = 0;                   // as tracked from outside, else as the joints say
  std::optional<double> calibration_m, calibration_rad;  // recorded: as tracked less as the joints say
  std::vector<GapRow> rows;                              // metrics that both have
  Series person_apart_m, camera_apart_m;                 // a number a frame of the common time
  Take rehearsed, recorded;                              // cut to the common time
};

/// `lesson_at_s`: the recording's time 0 on the rehearsal's time line, whole frames. `track`, if any, stands by `clock` to the
/// log as the recording has it; `start_s`: the recording's time 0 on the track's clock. @throws InputError: other arms' joints,
/// rates, or less than 2 s in common.
TakeGap CompareTakes(const Take& rehearsed, const ArmModel& arm, const Take& recorded, double lesson_at_s,
                     const CameraTrack* track = nullptr, double start_s = 0);

}  // namespace dryrig
