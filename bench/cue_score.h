#pragma once

#include <iterator>
#include <optional>
#include <string>
#include <vector>

#include "policies/choice.h"

namespace dryrig {

/// How well one kind of cue is read: hits and what they were held against. Ratios are none where nothing was there.
struct CueCount {
  double read = 0, right = 0;   // readings, and those of them that were right
  double shown = 0, found = 0;  // cues that there were, and those of them that were read
  std::vector<double> delays_s;

  std::optional<double> Precision() const { return read > 0 ? std::optional(right / read) : std::nullopt; }
  std::optional<double> Recall() const { return shown > 0 ? std::optional(found / shown) : std::nullopt; }
  std::optional<double> F1() const;
  std::optional<double> MedianDelay_s() const;
  void Add(const CueCount& other);
};

inline constexpr const char* kCueKinds[] = {"pointing",      "raised object",   "address",
                                            "hands at work", "torso direction", "sentences"};
/// Counted in seconds, not in times.
bool IsState(size_t cue_kind);

/// Pointing where the index finger's tip is no farther from the prop than `up_to_m`, and farther than the step before.
struct PointingAtDistance {
  double up_to_m = 0;
  int shown = 0;     // such beats
  int readings = 0;  // that began in one of them
  int right = 0;     // of its prop
};

struct CueScores {
  std::vector<CueCount> kinds = std::vector<CueCount>(std::size(kCueKinds));
  std::vector<PointingAtDistance> pointing{{0.2}, {0.4}, {0.7}, {1e9}};
  std::vector<double> torso_off_rad;  // a control tick each: the direction as read from the torso's true one

  void Add(const CueScores& other);
};

/// What the shipped reading makes of a performance as sensed, by kCueKinds, held against the lesson's own beats, no arm moving.
/// Pointing and raised objects are events: a reading is right where it begins between half a second before such a beat's approach
/// is over and one second after its end, and names its prop. Address and work are states, counted in seconds of beats without the
/// approach and the second after it, work with both or either hand. The torso's
/// direction is such a state too: turned by 15° and more from the end of a turn's approach until the next turn begins. A sentence
/// is a cue where its beat's intent says `cue: sentence`; one whose beat's intent may wait for it or not is left out.
CueScores ScoreCues(const TakeSetup& setup);

}  // namespace dryrig
