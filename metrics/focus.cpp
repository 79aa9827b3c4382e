#include <fmt/format.h>

#include "metrics/compute.h"
#include "metrics/summary.h"

namespace dryrig {

Score InFocus(const Footage& footage) {
  const Take& take = footage.take();
  const auto field = [&](size_t i) { return FieldInFocus(take.camera, take.frames[i].lens); };
  Series series = PerFrame(footage, [&](size_t i, const FrameView& view) {
    if (!view.scored) return kGap;
    const DepthOfField in_focus = field(i);
    return view.framing.depth_m >= in_focus.near_m && view.framing.depth_m <= in_focus.far_m ? 1.0 : 0.0;
  });
  std::string what;
  if (const auto at = WorstIndex(series.values, Worst::kLowest); at && series.values[*at] == 0) {
    what = fmt::format("subject at {:.2f} m, sharp from {:.2f} m to {:.2f} m", footage.frames()[*at].framing.depth_m,
                       field(*at).near_m, field(*at).far_m);
  }
  const auto value = MeanOf(series.values);
  return MakeScore(value, std::move(series), Worst::kLowest, std::move(what), 1);
}

}  // namespace dryrig
