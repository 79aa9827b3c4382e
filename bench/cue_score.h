#pragma once

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

inline constexpr const char* kCueKinds[] = {"pointing", "raised object", "address", "hands at work", "sentences"};

/// What the shipped reading makes of a performance as sensed, by kCueKinds, held against the lesson's own beats, no arm moving.
/// Pointing and raised objects are events: a reading is right where it begins between half a second before such a beat's approach
/// is over and one second after its end, and names its prop. Address and work are states, counted in seconds of beats without the
/// approach and the second after it, work with both or either hand. A sentence is a cue where its beat's intent says `cue:
/// sentence`; one whose beat's intent may wait for it or not is left out.
std::vector<CueCount> ScoreCues(const TakeSetup& setup);

}  // namespace dryrig
