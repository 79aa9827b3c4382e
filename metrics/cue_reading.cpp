#include <algorithm>

#include "metrics/compute.h"
#include "metrics/reached.h"
#include "sim/logged_take.h"

namespace dryrig {

namespace {

/// The same subjects, in any order.
bool SameSubjects(const Shot& a, const Shot& b) {
  const auto within = [](const Shot& x, const Shot& y) {
    return std::all_of(x.subjects.begin(), x.subjects.end(),
                       [&](const Subject& s) { return std::find(y.subjects.begin(), y.subjects.end(), s) != y.subjects.end(); });
  };
  return within(a, b) && within(b, a);
}

/// 1 where the chosen subjects are the intent's, over scored frames.
Series ChosenRight(const Footage& footage) {
  const Take& take = footage.take();
  // What an operator on a set meant to film is not known.
  const bool known = take.id.policy != kLoggedPolicy;
  return PerFrame(footage, [&](size_t i, const FrameView& view) {
    if (!view.scored || !known) return kGap;
    return SameSubjects(take.frames[i].chosen, take.intents[static_cast<size_t>(view.intent)].shot) ? 1.0 : 0.0;
  });
}

std::string WrongChoice(const Footage& footage, size_t frame) {
  const FrameView& view = footage.frames()[frame];
  return ToString(footage.take().frames[frame].chosen) + " instead of " +
         ToString(footage.take().intents[static_cast<size_t>(view.intent)].shot);
}

}  // namespace

Score CuePrecision(const Footage& footage) {
  Series series = ChosenRight(footage);
  const auto value = MeanOf(series.values);
  const auto at = WorstIndex(series.values, Worst::kLowest);
  std::string what = at && series.values[*at] == 0 ? WrongChoice(footage, *at) : "";
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(what), 1);
}

Score CueRecall(const Footage& footage) {
  const Take& take = footage.take();
  const Series right = ChosenRight(footage);
  Series series{take.id.frame_hz, std::vector<double>(take.frames.size(), kGap)};
  std::vector<double> read;
  std::string what;
  for (size_t n = 0; n < take.intents.size(); ++n) {
    const FrameRange range = FramesOf(take, n);
    const auto share = MeanOf(std::span(right.values).subspan(range.begin, range.end - range.begin));
    if (!share) continue;
    read.push_back(*share >= 0.5 ? 1 : 0);
    if (*share < 0.5 && what.empty()) what = ToString(take.intents[n].shot);
    for (size_t i = range.begin; i < range.end; ++i) series.values[i] = read.back();
  }
  return MakeScore(MeanOf(read), std::move(series), Worst::kLowest, std::move(what), 1);
}

Score CueDelay(const Footage& footage) {
  const Take& take = footage.take();
  if (take.id.policy == kLoggedPolicy) return ReachedScore(footage, {});  // not known
  return ReachedScore(footage, FindReached(footage, [&](size_t frame) {
                        const int intent = footage.frames()[frame].intent;
                        return SameSubjects(take.frames[frame].chosen, take.intents[static_cast<size_t>(intent)].shot);
                      }));
}

}  // namespace dryrig
