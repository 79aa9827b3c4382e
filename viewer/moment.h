#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "metrics/framing.h"
#include "metrics/metric.h"
#include "sim/sight.h"
#include "sim/take.h"

namespace dryrig {

/// How a chosen shot stands to what was asked.
enum class Match { kNothingAsked, kSame, kOtherView, kOtherSubject };  // other view: same subjects, other size or angle

/// A run of frames in which shot and match stay the same.
struct ChosenRun {
  double start_s = 0, end_s = 0;
  Shot shot;
  Match match = Match::kNothingAsked;
};

/// Index of the frame or tick shown at t_s, within the take. @pre the take has one
size_t FrameAt(const Take& take, double t_s);
size_t TickAt(const Take& take, double t_s);

/// What goes on at t_s; null where nothing does. Of intents the one that began last.
const TimedIntent* IntentAt(const Take& take, double t_s);
const TimedBeat* BeatAt(const Take& take, double t_s);
const Sentence* SentenceAt(const Take& take, double t_s);

Match MatchOf(const TimedIntent* asked, const Shot& chosen);
std::vector<ChosenRun> ChosenRuns(const Take& take);
/// Start of each beat, for the transport.
std::vector<double> BeatStarts_s(const Take& take);
/// `hands, close-up, high-angle`.
std::string ShortName(const Shot& shot);

enum class SampleSight { kClear, kBlocked, kOutside };

/// A line of sight from the camera to a sample point of the subject.
struct SampleLine {
  Eigen::Vector3d p_W;
  SampleSight sight;
  int blocker = -1;  // body of SightScene
};

/// What the lens got of a shot in one frame. A prop's far side is left out, as the metrics do.
struct SightReport {
  std::vector<SampleLine> lines;
  int clear = 0, blocked = 0, outside = 0;
  std::vector<std::pair<std::string, int>> blockers;  // by name, the worst first
  FramingParts framing;
  Eigen::Vector3d centre_W = Eigen::Vector3d::Zero();
  double extent_m = 0;
};
/// @pre every prop that `shot` names is in the take
SightReport Look(const Take& take, size_t frame, const Shot& shot, SightScene* scene);

/// The nearest pair of robot and person at a tick.
struct Nearness {
  double distance_m = 0;
  std::string pair;
  Eigen::Vector3d p_WArm, p_WPerson;
  std::optional<double> protective_m;  // after the metric separation_margin, where that has a value here
};
/// None: there is no such pair.
std::optional<Nearness> NearnessAt(const Take& take, const Scorecard& card, double t_s);

/// The series' value at t_s; none in a gap or outside.
std::optional<double> ValueAt(const Series& series, double t_s);
/// The score of a metric by name; null if the card has none.
const Score* FindScore(const Scorecard& card, std::string_view metric);

}  // namespace dryrig
