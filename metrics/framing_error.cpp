#include <fmt/format.h>

#include <cmath>

#include "metrics/compute.h"
#include "metrics/frame_values.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

/// Root mean square of one part over scored frames; with `in_frame` over those alone whose subject is in the frame: where it
/// is not, off_subject counts it and the part has no bounded value.
Score PartScore(const Footage& footage, double FramingParts::*part, bool in_frame, const char* unit) {
  Series series = PerFrame(footage, [&](size_t, const FrameView& view) {
    if (!view.scored || (in_frame && view.framing.off_frame)) return kGap;
    return std::abs(view.framing.*part);
  });
  const auto value = RmsOf(series.values);
  const auto most = GreatestOf(series.values);
  std::string what = most ? fmt::format("{:.3g} {}", *most, unit) : "";
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(what));
}

std::string Describe(const FrameView& view, const Tolerances& tolerances) {
  const FramingParts& f = view.framing;
  if (!f.in_front) return "subject behind the camera";
  if (f.off_frame) return "subject outside the frame";
  const double composition = f.composition_heights / tolerances.composition_heights;
  const double size = std::abs(f.size_octaves) / tolerances.size_octaves;
  const double angle = f.angle_deg / tolerances.angle_deg;
  if (composition >= size && composition >= angle)
    return fmt::format("{:.2f} frame heights off the composition point", f.composition_heights);
  if (size >= angle) return fmt::format("{:.2f} times the size asked for", std::exp2(f.size_octaves));
  return f.up_deg > f.direction_deg ? fmt::format("image turned by {:.0f}°", f.up_deg)
                                    : fmt::format("seen from {:.0f}° beside the angle asked for", f.direction_deg);
}

}  // namespace

Score FramingError(const Footage& footage) {
  Series series = PerFrame(footage, [](size_t, const FrameView& view) { return FramingErrorOf(view); });
  const auto value = RmsOf(series.values);
  const auto at = WorstIndex(series.values, Worst::kHighest);
  std::string what = at ? Describe(footage.frames()[*at], footage.tolerances()) : "";
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(what));
}

Score CompositionError(const Footage& footage) {
  return PartScore(footage, &FramingParts::composition_heights, true, "frame heights");
}
Score SizeError(const Footage& footage) {
  return PartScore(footage, &FramingParts::size_octaves, true, "octaves");
}
Score AngleError(const Footage& footage) {
  return PartScore(footage, &FramingParts::angle_deg, false, "deg");
}
Score FacingError(const Footage& footage) {
  return PartScore(footage, &FramingParts::facing_deg, false, "deg");
}

Score OffSubject(const Footage& footage) {
  Series series =
      PerFrame(footage, [](size_t, const FrameView& view) { return view.scored ? (view.framing.off_frame ? 1.0 : 0.0) : kGap; });
  const auto value = MeanOf(series.values);
  std::string what;
  if (const auto at = WorstIndex(series.values, Worst::kHighest); at && series.values[*at] > 0) {
    what = Describe(footage.frames()[*at], footage.tolerances());
  }
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(what));
}

}  // namespace dryrig
