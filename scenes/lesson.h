#pragma once

#include <Eigen/Core>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "scenes/error.h"
#include "scenes/shape.h"
#include "scenes/shot.h"

namespace dryrig {

enum class BeatKind { kAddress, kReach, kWork, kPoint, kHoldUp, kPutDown, kTurn, kSay, kPause, kGlance, kPass, kStepBack };
/// A prop, the crew across the bench, or to the side.
enum class GlanceAt { kProp, kCamera, kLeft, kRight };
enum class HandChoice { kDominant, kOther, kBoth };
enum class WorkMotion { kStroke, kCircle, kTwist, kTap, kPress, kStitch };
/// What completes the cue of a beat's intent: the action's approach, the sentence's last word, or the later of the two.
enum class CueEnd { kAction, kSentence, kLater };

/// What a good operator would show from the end of this beat's cue on.
struct Intent {
  Shot shot;
  CueEnd cue = CueEnd::kLater;
};

/// One action of the instructor. Fields that a kind does not use keep their defaults.
struct Beat {
  BeatKind kind = BeatKind::kPause;
  HandChoice hand = HandChoice::kDominant;  // reach, work, point, hold_up, put_down; pass: the one that gives
  std::string prop;                         // reach to, work on, point at, hold_up, put_down, glance at, pass: a prop's name
  std::string with;                         // work: tool held meanwhile; empty: none
  bool take = false;                        // reach: the hand closes on the prop and carries it from then on
  double for_s = 0;                         // time after the approach, > 0; reach, put_down, pass, say: 0
  WorkMotion motion = WorkMotion::kStroke;  // work
  double rate_hz = 1;                       // work: cycles a second, (0, 6]
  double span_m = 0.04;                     // work: peak-to-peak, (0, 0.4]
  std::optional<Eigen::Vector2d> to_m;      // put_down: bench coordinates; none: where the prop first lay
  std::string on;                           // put_down with to_m: the shelf it goes on; empty: the bench's top
  GlanceAt glance_at = GlanceAt::kProp;     // glance
  double back_m = 0;                        // step_back: how far from the bench; the beat ends when the person is back
  double turn_rad = 0;                      // turn: torso yaw, left (instructor's) positive; 0 faces the bench
  std::string say;                          // sentence spoken from the beat's start; empty: none
  std::optional<Intent> intent;             // given by the author or derived by the reader; none: nothing is asked
  SourcePos pos;
};

/// A thing on the bench, its shape's z upright: cylinders and capsules stand, a long tool that lies is a thin box.
struct Prop {
  std::string name;
  Shape shape;
  Eigen::Vector2d at_m = Eigen::Vector2d::Zero();  // of its centre, bench coordinates (see bench.h)
  std::string on;                                  // the shelf it lies on; empty: the bench's top
  std::optional<Eigen::Vector3d> tip_m;            // of a tool: the point it works with, on its surface, from its centre
  double yaw_rad = 0;
  double mass_kg = 0.1;
  Eigen::Vector3d colour{0.6, 0.6, 0.6};  // red, green, blue, [0,1]
  SourcePos pos;
};

/// Policies are tuned on `train` alone; `test` stays untouched meanwhile.
enum class LessonSet { kTrain, kTest };

struct RecordedLesson;

/// A lesson as read: names in it are checked against its own props, times and ranges against their limits.
struct Lesson {
  std::string name;  // file stem
  std::string title;
  std::string craft;
  std::string hard_for;  // what it is hard for, one sentence
  LessonSet set = LessonSet::kTrain;
  std::string bench, person;  // defaults a command line or suite may cross
  std::vector<Prop> props;
  std::vector<Beat> beats;                         // none where the lesson was recorded
  std::shared_ptr<const RecordedLesson> recorded;  // none where it is scripted
  std::string text;  // the file, byte for byte
};

/// @throws InputError (file:line:column) for anything the format does not allow.
Lesson ReadLesson(const std::filesystem::path& file);
/// `read` answers for the files that a recorded lesson names, their kind motion, mapping or captions; none: they are read from beside `file_name`.
Lesson ParseLesson(const std::string& text, const std::string& file_name,
                   const std::function<std::string(const std::string& kind, const std::string& name)>& read = {});

/// A recording alone, by its name's end: .bvh or .csv.
bool IsBareRecording(const std::filesystem::path& file);
/// The lesson that such a file makes by itself, at a shipped bench, with captions if there are any: no props, no key. @throws
/// InputError.
Lesson LessonOfRecording(const std::filesystem::path& motion, const std::filesystem::path& captions = {});

/// What `check` compares beyond the file itself: does every prop lie on this bench or a shelf of its? @throws InputError.
struct Bench;
void RequireFits(const Lesson& lesson, const Bench& bench);

std::string_view ToString(BeatKind kind);
std::string_view ToString(WorkMotion motion);
std::string_view ToString(LessonSet set);

}  // namespace dryrig
