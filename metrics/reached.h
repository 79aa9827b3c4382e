#pragma once

#include <functional>
#include <vector>

#include "metrics/summary.h"

namespace dryrig {

/// When each intent was reached: `yes(frame)` held for the holding time, inside the intent.
struct Reached {
  size_t intent = 0;
  double after_s = 0;  // from the intent's start; its recorded length when it was never reached
  bool missed = false;
  FrameRange frames{0, 0};
};
/// Intents that were recorded for less than the holding time are left out.
std::vector<Reached> FindReached(const Footage& footage, const std::function<bool(size_t frame)>& yes);

/// Mean of after_s; its series holds each intent's number on the intent's frames.
Score ReachedScore(const Footage& footage, const std::vector<Reached>& reached);

}  // namespace dryrig
