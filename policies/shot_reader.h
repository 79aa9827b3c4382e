#pragma once

#include "policies/cues.h"
#include "policies/scene_filter.h"
#include "policies/shot_choice.h"

namespace dryrig {

/// From what a policy observes to the shot that it shall film: tracking filtered, cues and sentences read, a shot chosen. Shared
/// by every policy that finds out for itself what to film.
class ShotReader {
 public:
  explicit ShotReader(const ShotChoiceConfig& config) : chooser_(config) {}

  void Reset(const Stage& stage);
  /// Once a control tick. The shot lives until the next call.
  const Shot& Update(const Observation& seen);

  const SceneFilter& scene() const { return scene_; }
  const HandsInUse& hands() const { return hands_; }

 private:
  bool UnderHands(const std::string& prop) const;

  SceneFilter scene_;
  CueReader cues_;
  ShotChooser chooser_;
  HandsInUse hands_{true, true};
  size_t heard_ = 0;  // sentences read so far
};

}  // namespace dryrig
