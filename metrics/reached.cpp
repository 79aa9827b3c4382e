#include "metrics/reached.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

std::vector<Reached> FindReached(const Footage& footage, const std::function<bool(size_t)>& yes) {
  const Take& take = footage.take();
  // Frames 0 to n of a held shot span the holding time.
  const auto hold = static_cast<size_t>(std::lround(footage.tolerances().hold_s * take.id.frame_hz)) + 1;
  std::vector<Reached> out;
  for (size_t n = 0; n < take.intents.size(); ++n) {
    const TimedIntent& intent = take.intents[n];
    const FrameRange range = FramesOf(take, n);
    if (range.end < range.begin + hold) continue;
    const double recorded_s = std::min(intent.end_s, footage.FrameTime_s(range.end)) - intent.start_s;
    Reached reached{n, recorded_s, true, range};
    size_t run = 0;
    for (size_t i = range.begin; i < range.end && reached.missed; ++i) {
      run = yes(i) ? run + 1 : 0;
      if (run == hold) {
        reached.missed = false;
        reached.after_s = std::max(0.0, footage.FrameTime_s(i + 1 - hold) - intent.start_s);
      }
    }
    out.push_back(reached);
  }
  return out;
}

Score ReachedScore(const Footage& footage, const std::vector<Reached>& reached) {
  const Take& take = footage.take();
  Series series{take.id.frame_hz, std::vector<double>(take.frames.size(), kGap)};
  std::vector<double> each;
  const Reached* slowest = nullptr;
  for (const Reached& r : reached) {
    each.push_back(r.after_s);
    if (!slowest || r.after_s > slowest->after_s) slowest = &r;
    for (size_t i = r.frames.begin; i < r.frames.end; ++i) series.values[i] = r.after_s;
  }
  std::string what = slowest ? ToString(take.intents[slowest->intent].shot) + (slowest->missed ? ": never" : "") : "";
  return MakeScore(MeanOf(each), std::move(series), Worst::kHighest, std::move(what));
}

}  // namespace dryrig
