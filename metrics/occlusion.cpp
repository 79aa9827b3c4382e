#include <fmt/format.h>

#include "metrics/compute.h"
#include "metrics/frame_values.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

/// Mean over scored frames of a share of the subjects' sample points: each frame counts alike, whatever its subjects' number
/// of points. `what` tells the worst frame.
template <class Share, class What>
Score ShareScore(const Footage& footage, Worst worst, Share share, What what) {
  Series series = PerFrame(footage, [&](size_t, const FrameView& view) { return share(view); });
  const auto at = WorstIndex(series.values, worst);
  std::string told = at ? what(footage.frames()[*at]) : "";
  const auto value = MeanOf(series.values);
  return MakeScore(value, std::move(series), worst, std::move(told), worst == Worst::kHighest ? 0 : 1);
}

std::string Told(const Footage& footage, const FrameView& view, bool hidden, bool outside) {
  std::string what;
  if (hidden && view.TopKind() != Blocker::kNone) what = footage.BlockedBy(view, view.TopKind());
  if (outside && view.outside > 0) {
    what += fmt::format("{}{} of {} points outside the frame", what.empty() ? "" : ", ", view.outside, view.samples);
  }
  return what;
}

template <Blocker kBlocker>
Score HiddenBy(const Footage& footage) {
  const auto count = [](const FrameView& view) { return view.blocked[static_cast<size_t>(kBlocker)]; };
  return ShareScore(
      footage, Worst::kHighest,
      [&](const FrameView& view) {
        return view.scored && view.samples > 0 ? static_cast<double>(count(view)) / view.samples : kGap;
      },
      [&](const FrameView& view) { return count(view) > 0 ? footage.BlockedBy(view, kBlocker) : ""; });
}

}  // namespace

Score Occlusion(const Footage& footage) {
  return ShareScore(footage, Worst::kHighest, OcclusionOf,
                    [&](const FrameView& view) { return Told(footage, view, true, false); });
}
Score Outside(const Footage& footage) {
  return ShareScore(footage, Worst::kHighest, OutsideOf, [&](const FrameView& view) { return Told(footage, view, false, true); });
}
Score Clear(const Footage& footage) {
  return ShareScore(footage, Worst::kLowest, ClearOf, [&](const FrameView& view) { return Told(footage, view, true, true); });
}

Score OccludedByOwnArm(const Footage& footage) {
  return HiddenBy<Blocker::kOwnArm>(footage);
}
Score OccludedByHead(const Footage& footage) {
  return HiddenBy<Blocker::kHead>(footage);
}
Score OccludedByTorso(const Footage& footage) {
  return HiddenBy<Blocker::kTorso>(footage);
}
Score OccludedByOtherHand(const Footage& footage) {
  return HiddenBy<Blocker::kOtherHand>(footage);
}
Score OccludedBySameHand(const Footage& footage) {
  return HiddenBy<Blocker::kSameHand>(footage);
}
Score OccludedByProp(const Footage& footage) {
  return HiddenBy<Blocker::kProp>(footage);
}
Score OccludedByBench(const Footage& footage) {
  return HiddenBy<Blocker::kBench>(footage);
}
Score OccludedByRobot(const Footage& footage) {
  return HiddenBy<Blocker::kRobot>(footage);
}

}  // namespace dryrig
