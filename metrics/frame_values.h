#pragma once

#include <span>
#include <string_view>

#include "metrics/footage.h"

namespace dryrig {

/// A metric's value in one frame, where that frame alone tells it; kGap where there is nothing to measure.
double FramingErrorOf(const FrameView& view);
double HandVisibilityOf(const FrameView& view);
double OcclusionOf(const FrameView& view);
double OutsideOf(const FrameView& view);
double ClearOf(const FrameView& view);

/// The metrics whose series a frame view alone tells, with what tells them; the same numbers as in Score::series.
struct FrameValue {
  std::string_view metric;
  double (*of)(const FrameView& view);
};
std::span<const FrameValue> FrameValues();

}  // namespace dryrig
