#include "metrics/compute.h"
#include "metrics/reached.h"

namespace dryrig {

namespace {

std::vector<Reached> WhenFramed(const Footage& footage) {
  return FindReached(footage, [&](size_t frame) { return footage.frames()[frame].framing.error < 1; });
}

}  // namespace

Score Response(const Footage& footage) {
  return ReachedScore(footage, WhenFramed(footage));
}

Score ResponseMissed(const Footage& footage) {
  const Take& take = footage.take();
  Series series{take.id.frame_hz, std::vector<double>(take.frames.size(), kGap)};
  std::vector<double> missed;
  std::string what;
  for (const Reached& r : WhenFramed(footage)) {
    missed.push_back(r.missed);
    if (r.missed && what.empty()) what = ToString(take.intents[r.intent].shot);
    for (size_t i = r.frames.begin; i < r.frames.end; ++i) series.values[i] = r.missed;
  }
  return MakeScore(MeanOf(missed), std::move(series), Worst::kHighest, std::move(what));
}

}  // namespace dryrig
