#pragma once

#include <imgui.h>

#include "viewer/desk.h"
#include "viewer/layout.h"

namespace dryrig {

/// The part of a take that the time line shows, and where.
struct TimeView {
  double from_s = 0, to_s = 1;
  float x = 0, w = 1;
  float X(double t_s) const { return x + w * static_cast<float>((t_s - from_s) / (to_s - from_s)); }
  double Time(float at) const { return from_s + (to_s - from_s) * static_cast<double>((at - x) / w); }
};

/// Lanes and plots that the open takes call for.
LaneCount LanesFor(const Desk& desk);

/// One lane, its name at the left of the view.
void DrawBeats(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane);
void DrawSpeech(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane);
void DrawAsked(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane);
/// The chosen shots of a slot: hatched where another subject was asked for, underlined with dashes where another size or angle.
void DrawChosen(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane, int slot);
/// A metric's series, of the second take dashed, with least and greatest value, unit and worst moment.
void DrawPlot(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane, const std::string& metric);

}  // namespace dryrig
