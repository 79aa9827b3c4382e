#pragma once

#include <optional>
#include <string>
#include <vector>

#include "scenes/recording.h"
#include "sim/logged_take.h"

namespace dryrig {

/// A number estimated from a log. Not `known`: the log does not tell it, and `why` says so.
struct Estimate {
  double value = 0, sigma = 0;  // sigma: standard error
  bool known = false;
  std::string why;
};

/// How a real arm's servo follows, by the model that rehearsals use.
struct ServoFit {
  Estimate latency_s, bandwidth_hz, damping_ratio;
  double before = 0,
         after = 0;  // root mean square of measured less simulated joints, rad: with the arm file's servo, with the fitted
};

/// The servo with which the simulated arm, told the commanded joints of the log, moves most like the measured ones: least squares
/// (Gauss–Newton) over latency, bandwidth and damping, in the 20 s of the log that have most motion. A number is known where its
/// standard error is below 5 ms, or a quarter of it; else it keeps the stage's and says why. @throws InputError for a log without
/// commanded joints, or in which the arm hardly moves.
ServoFit FitServo(const Stage& stage, const JointLog& log);

/// Where the camera really sits.
struct MountFit {
  Eigen::Isometry3d X_EC = Eigen::Isometry3d::Identity();
  double sigma_m = 0, sigma_rad = 0;  // standard errors of the mean, of samples 0.1 s apart taken as independent
  double left_m = 0, left_rad = 0;    // root mean square of single samples about it
};
/// The mean of what the track and the joints say. The bench's mount of the base is taken to be right: an error of it would look
/// like one of the camera's. @throws InputError: fewer than 2 s in common.
MountFit FitMount(const Stage& stage, const JointLog& log, const CameraTrack& track, const LogClock& clock);

/// How much later a live tracker told of the person than a track from outside, both on clocks of `live` =
/// clock.LogTime(`outside`).
/// @throws InputError where the two have no points or no motion in common.
Estimate FitTrackerDelay(const Recording& outside, const Recording& live, const LogClock& clock);

}  // namespace dryrig
