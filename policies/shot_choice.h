#pragma once

#include <string>
#include <vector>

#include "policies/cues.h"
#include "policies/sentences.h"
#include "scenes/shot.h"

namespace dryrig {

struct ShotChoiceConfig {
  double least_shot_s = 1.2;  // between two cuts made for cues
  double least_ask_s = 3.0;   // a shot asked for by a sentence is kept against cues

  void Visit(auto&& v) {
    v("least_shot_s", "s", least_shot_s, 0, 10, "least time between cuts made for cues");
    v("least_ask_s", "s", least_ask_s, 0, 20, "least time that a shot asked for in words is kept against cues");
  }
};

/// Which shot a good operator would film, from cues and asks: address -> medium of the face at eye level; work -> close-up of
/// the hands from a high angle; pointing -> close-up of the prop from a high angle; a raised prop -> its close-up at eye level.
/// Without a cue the last shot stays. An ask changes size, angle or subject until the next cue.
class ShotChooser {
 public:
  explicit ShotChooser(const ShotChoiceConfig& config) : config_(config) {}
  void Reset();
  /// A sentence's ask, and whether the prop that it names lies under hands at work.
  struct Heard {
    Ask ask;
    bool named_in_work = false;
  };
  /// `heard`: since the last call, oldest first.
  const Shot& Update(double t_s, const Cues& cues, const std::vector<Heard>& heard);

 private:
  Shot CueShot(const Cues& cues) const;
  bool AnyCue(const Cues& cues) const;

  ShotChoiceConfig config_;
  Shot base_;  // of the last cue followed
  Shot shot_;  // base_ as changed by an ask
  double cut_s_ = -1e9;
  double asked_s_ = -1e9;
  Shot seen_at_ask_;  // what the cues have said without a break since the ask was heard: that does not end it
  bool asked_ = false, same_cue_ = false;
};

/// The shot that a sentence turns `shot` into. A prop named that is being worked on is framed with the hands.
Shot Apply(const Ask& ask, const Shot& shot, bool named_in_work);

}  // namespace dryrig
