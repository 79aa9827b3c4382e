#include <fmt/format.h>

#include "metrics/compute.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

/// Mean over scored frames of a share of the subjects' sample points: each frame counts alike, whatever its subjects' number
/// of points.
template <class Count>
Score ShareScore(const Footage& footage, Worst worst, Count count) {
  Series series = PerFrame(footage, [&](size_t, const FrameView& view) {
    return view.scored && view.samples > 0 ? static_cast<double>(count(view)) / view.samples : kGap;
  });
  std::string what;
  if (const auto at = WorstIndex(series.values, worst)) {
    const FrameView& view = footage.frames()[*at];
    if (view.top_blocker >= 0) what = "blocked by " + footage.BodyName(view.top_blocker);
    if (view.outside > 0)
      what += fmt::format("{}{} of {} points outside the frame", what.empty() ? "" : ", ", view.outside, view.samples);
  }
  const auto value = MeanOf(series.values);
  return MakeScore(value, std::move(series), worst, std::move(what));
}

template <Blocker kBlocker>
Score BlockedBy(const Footage& footage) {
  return ShareScore(footage, Worst::kHighest, [](const FrameView& view) { return view.blocked[static_cast<size_t>(kBlocker)]; });
}

}  // namespace

Score Occlusion(const Footage& footage) {
  return ShareScore(footage, Worst::kHighest, [](const FrameView& view) { return view.samples - view.clear - view.outside; });
}
Score Outside(const Footage& footage) {
  return ShareScore(footage, Worst::kHighest, [](const FrameView& view) { return view.outside; });
}
Score Clear(const Footage& footage) {
  return ShareScore(footage, Worst::kLowest, [](const FrameView& view) { return view.clear; });
}

Score OccludedByOwnArm(const Footage& footage) {
  return BlockedBy<Blocker::kOwnArm>(footage);
}
Score OccludedByHead(const Footage& footage) {
  return BlockedBy<Blocker::kHead>(footage);
}
Score OccludedByTorso(const Footage& footage) {
  return BlockedBy<Blocker::kTorso>(footage);
}
Score OccludedByOtherHand(const Footage& footage) {
  return BlockedBy<Blocker::kOtherHand>(footage);
}
Score OccludedBySameHand(const Footage& footage) {
  return BlockedBy<Blocker::kSameHand>(footage);
}
Score OccludedByProp(const Footage& footage) {
  return BlockedBy<Blocker::kProp>(footage);
}
Score OccludedByBench(const Footage& footage) {
  return BlockedBy<Blocker::kBench>(footage);
}
Score OccludedByRobot(const Footage& footage) {
  return BlockedBy<Blocker::kRobot>(footage);
}

}  // namespace dryrig
