#include <fmt/format.h>

#include "metrics/compute.h"
#include "metrics/frame_values.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

bool Counts(const FrameView& view) {
  return view.scored && view.landmarks > 0;
}

std::string Why(const Footage& footage, const FrameView& view) {
  std::string why;
  if (view.landmarks_visible == view.landmarks) return "all landmarks visible";
  if (view.TopKind() != Blocker::kNone) why = footage.BlockedBy(view, view.TopKind());
  if (view.outside > 0) why += (why.empty() ? "" : ", ") + std::string("outside the frame");
  return fmt::format("{} of {} landmarks visible: {}", view.landmarks_visible, view.landmarks, why);
}

std::string WhyAtWorst(const Footage& footage, const Series& series, Worst worst) {
  const auto at = WorstIndex(series.values, worst);
  return at ? Why(footage, footage.frames()[*at]) : "";
}

}  // namespace

Score HandVisibility(const Footage& footage) {
  Series series = PerFrame(footage, [](size_t, const FrameView& view) { return HandVisibilityOf(view); });
  const auto value = MeanOf(series.values);
  std::string why = WhyAtWorst(footage, series, Worst::kLowest);
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(why), 1);
}

Score LongestBlind(const Footage& footage) {
  // Seconds that the hands have been lost for, frame by frame.
  const double frame_s = 1 / footage.take().id.frame_hz;
  int run = 0;
  Series series = PerFrame(footage, [&](size_t, const FrameView& view) {
    if (!Counts(view)) {
      run = 0;
      return kGap;
    }
    run = HandVisibilityOf(view) < footage.tolerances().blind_share ? run + 1 : 0;
    return run * frame_s;
  });
  const auto value = GreatestOf(series.values);
  std::string why = WhyAtWorst(footage, series, Worst::kHighest);
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(why));
}

Score HandDetail(const Footage& footage) {
  const auto size_ratio = [&](const FrameView& view) {
    const Shot& shot = footage.take().intents[static_cast<size_t>(view.intent)].shot;
    return view.framing.in_front ? view.framing.apparent_heights / WantedFrameHeights(shot) : 0.0;
  };
  Series series = PerFrame(footage, [&](size_t, const FrameView& view) {
    if (!Counts(view)) return kGap;
    const bool most_sharp = 2 * view.landmarks_in_focus > view.landmarks;
    return most_sharp && size_ratio(view) >= footage.tolerances().detail_size ? 1.0 : 0.0;
  });
  std::string why;
  if (const auto at = WorstIndex(series.values, Worst::kLowest); at && series.values[*at] == 0) {
    const FrameView& view = footage.frames()[*at];
    if (2 * view.landmarks_visible <= view.landmarks)
      why = Why(footage, view);
    else if (2 * view.landmarks_in_focus <= view.landmarks)
      why = "out of focus";
    else
      why = fmt::format("{:.2f} of the size asked for", size_ratio(view));
  }
  const auto value = MeanOf(series.values);
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(why), 1);
}

}  // namespace dryrig
