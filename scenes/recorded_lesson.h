#pragma once

#include <Eigen/Core>
#include <array>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "scenes/captions.h"
#include "scenes/joint_mapping.h"
#include "scenes/recording.h"
#include "scenes/shot.h"

namespace dryrig {

/// Where the person stands. None of it given: at the bench's middle, facing it.
struct RecordedPlace {
  std::optional<Eigen::Vector2d> at_m;  // of the hips, bench coordinates, on average over the lesson
  double yaw_rad = 0;                   // of the torso, on average; 0 faces the bench, left positive
  bool on_the_spot = false;             // walking about is taken out
  bool as_measured = false;             // the recording's frame is W: nothing is moved
};

/// Times below are on the recording's clock.
struct RecordedCarry {
  int prop = 0;
  int side = 1;  // 0 left, 1 right
  double from_s = 0, to_s = 0;
  std::optional<Eigen::Vector2d> to_m;  // where it lies afterwards; none: where it first lay
};
struct RecordedUse {
  double from_s = 0, to_s = 0;
  std::array<bool, 2> hands{};
};
struct RecordedIntent {
  double from_s = 0;
  std::optional<double> to_s;  // none: until the next, or the end
  Shot shot;
};

/// A file that a lesson names: it is part of what a take was made from.
struct RecordedFile {
  std::string kind;  // "motion", "mapping", "captions"
  std::string name;  // as the lesson has it
  std::string text;
};

/// A lesson's body, speech and key where they were recorded and not written as beats.
struct RecordedLesson {
  Recording motion;
  Captions captions;
  double start_s = 0, length_s = 0;  // the part of the recording that is played
  RecordedPlace place;
  std::vector<RecordedCarry> carried;   // in order of time, none of one prop or hand overlaps another
  std::vector<RecordedUse> in_use;      // in order of time; empty: told from the wrists' speed
  std::vector<RecordedIntent> intents;  // in order of time
  std::vector<RecordedFile> files;
};

/// Reads a file that a lesson names; `kind` as RecordedFile has it. @throws InputError.
using FileReader = std::function<std::string(const std::string& kind, const std::string& name)>;

/// BVH or pose-track CSV, told by the name's end, else by the first word. @throws InputError.
Recording ParseRecording(const std::string& text, const std::string& file_name, const JointMapping& mapping,
                         const RecordingHints& hints);

}  // namespace dryrig
