#include "metrics/frame_values.h"

#include <array>

#include "metrics/summary.h"

namespace dryrig {

namespace {

double Share(const FrameView& view, int count) {
  return view.scored && view.samples > 0 ? static_cast<double>(count) / view.samples : kGap;
}

constexpr std::array kValues{FrameValue{"framing_error", FramingErrorOf}, FrameValue{"hand_visibility", HandVisibilityOf},
                             FrameValue{"occlusion", OcclusionOf}, FrameValue{"outside", OutsideOf},
                             FrameValue{"clear", ClearOf}};

}  // namespace

double FramingErrorOf(const FrameView& view) {
  return view.scored ? view.framing.error : kGap;
}
double HandVisibilityOf(const FrameView& view) {
  return view.scored && view.landmarks > 0 ? static_cast<double>(view.landmarks_visible) / view.landmarks : kGap;
}
double OcclusionOf(const FrameView& view) {
  return Share(view, view.samples - view.clear - view.outside);
}
double OutsideOf(const FrameView& view) {
  return Share(view, view.outside);
}
double ClearOf(const FrameView& view) {
  return Share(view, view.clear);
}

std::span<const FrameValue> FrameValues() {
  return kValues;
}

}  // namespace dryrig
