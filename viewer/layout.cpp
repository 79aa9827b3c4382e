#include "viewer/layout.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

Rect FitInto(const Rect& room, double aspect) {
  const auto ratio = static_cast<float>(aspect);
  const float w = std::min(room.w, room.h * ratio);
  const float h = w / ratio;
  return {std::floor(room.x + 0.5f * (room.w - w)), std::floor(room.y + 0.5f * (room.h - h)), std::floor(w), std::floor(h)};
}

Layout Arrange(float width, float height, float scale, const LaneCount& lanes, int lenses, double aspect) {
  const auto units = [scale](float n) { return std::round(n * scale); };
  constexpr float kLeastWidth = 900, kLeastHeight = 560;
  constexpr float kMostTimeLine = 0.45f, kLeastTimeLine = 0.27f, kLensShare = 0.66f;
  constexpr float kHeading = 26, kMoment = 148, kPad = 6, kLeastRoom = 200;
  Layout out;
  out.too_small = width < kLeastWidth * scale || height < kLeastHeight * scale;

  const float head = units(36), caution = units(22), transport = units(34);
  const float wanted =
      units(kRulerHeight + kLaneHeight * static_cast<float>(lanes.lanes) + kPlotHeight * static_cast<float>(lanes.plots) + 8);
  // A tall window gives the plots more height.
  const float least = lanes.plots > 0 ? std::round(kLeastTimeLine * height) : 0;
  const float time_line = std::min(std::max(wanted, least), std::round(kMostTimeLine * height));
  const float middle = std::max(0.0f, height - head - caution - transport - time_line);

  const bool wide = width > 1500 * scale, narrow = width < 1150 * scale;
  const float weak = std::min(units(lenses > 1 ? 392 : wide ? 400 : narrow ? 290 : 332), std::round(0.4f * width));
  const float next = std::min(units(wide ? 330 : narrow ? 224 : 264), std::round(0.3f * width));
  const float views = std::max(2.0f, width - weak - next);
  // Lens pictures: as wide as leaves the room its share; one has the moment's card below it, two stand above one another.
  const auto n = static_cast<float>(std::max(1, lenses));
  const float below = lenses > 1 ? 0 : std::min(units(kMoment), std::round(0.4f * middle));
  const float picture = std::max(1.0f, (middle - below) / n - units(kHeading + kPad));
  const float most = std::max(0.5f * views, std::min(kLensShare * views, views - units(kLeastRoom)));
  const float lens = std::round(std::min(most, picture * static_cast<float>(aspect) + units(2 * kPad)));
  const float lens_height =
      lenses > 1
          ? middle
          : std::min(middle - below, std::round((lens - units(2 * kPad)) / static_cast<float>(aspect)) + units(kHeading + kPad));

  float y = 0;
  out.head = {0, y, width, head};
  y += head;
  out.weak = {0, y, weak, middle};
  out.lens = {weak, y, lens, lens_height};
  out.moment = {weak, y + lens_height, lens, middle - lens_height};
  out.room = {weak + lens, y, views - lens, middle};
  out.next = {width - next, y, next, middle};
  y += middle;
  out.transport = {0, y, width, transport};
  y += transport;
  out.time_line = {0, y, width, time_line};
  y += time_line;
  out.caution = {0, y, width, std::max(0.0f, height - y)};
  return out;
}

}  // namespace dryrig
