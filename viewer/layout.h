#pragma once

namespace dryrig {

/// A rectangle in the window, pixels from its top left corner.
struct Rect {
  float x = 0, y = 0, w = 0, h = 0;
  float right() const { return x + w; }
  float bottom() const { return y + h; }
  bool Contains(float px, float py) const { return px >= x && px < right() && py >= y && py < bottom(); }
  bool Overlaps(const Rect& other) const {
    return x < other.right() && other.x < right() && y < other.bottom() && other.y < bottom();
  }
  bool operator==(const Rect&) const = default;
};

/// Where everything stands, from left to right in the order of what a person decides: where is the take weak, what did the
/// lens see there, how near was the robot, what to try next; below them when it happened, and at the foot the caution.
struct Layout {
  Rect head, weak, lens, moment, room, next, transport, time_line, caution;
  bool too_small = false;  // the window has less room than the least of all panels together
};

/// What the time line needs.
struct LaneCount {
  int lanes = 4;  // beats, speech, asked, chosen, ...
  int plots = 2;
};

/// The panels fill the window and none overlaps another. `scale`: pixels a unit, of display and text together. The time line
/// gets what its lanes and plots need, at most 45 % of the height. `aspect`: of the lens pictures, `lenses` of them.
Layout Arrange(float width, float height, float scale, const LaneCount& lanes, int lenses, double aspect);

/// Heights in the time line, in units.
inline constexpr float kLaneHeight = 21, kRulerHeight = 20, kPlotHeight = 54;

/// The largest rectangle of this aspect in the middle of `room`.
Rect FitInto(const Rect& room, double aspect);

}  // namespace dryrig
