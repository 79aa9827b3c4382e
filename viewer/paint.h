#pragma once

#include <imgui.h>

#include <string>
#include <string_view>

#include "viewer/layout.h"

namespace dryrig {

/// Shapes that tell by form what colour alone must not.
void DashedLine(ImDrawList* draw, ImVec2 a, ImVec2 b, ImU32 colour, float thickness, float dash);
void DashedRect(ImDrawList* draw, const Rect& rect, ImU32 colour, float thickness, float dash);
/// What of `room` the picture in it leaves bare.
void FillAround(ImDrawList* draw, const Rect& room, const Rect& picture, ImU32 colour);
/// Slanted lines over a rectangle.
void Hatch(ImDrawList* draw, const Rect& rect, ImU32 colour, float step, float thickness);
/// Marks of a sample point: ring (clear), cross (blocked); each on a dark ground.
void RingMark(ImDrawList* draw, ImVec2 at, float radius, ImU32 colour);
void CrossMark(ImDrawList* draw, ImVec2 at, float radius, ImU32 colour);
/// A filled triangle that points down at (or up to) its tip.
void Pointer(ImDrawList* draw, ImVec2 tip, float size, bool down, ImU32 colour);
/// Words on a picture, on a dark ground. Returns the ground's rectangle.
Rect PictureText(ImDrawList* draw, ImVec2 at, const std::string& text, ImU32 colour = IM_COL32(255, 255, 255, 255));

/// As much of the text as fits, with an ellipsis; nothing if not even three letters do.
std::string Shortened(std::string_view text, float width);
/// Shortened text drawn inside a rectangle, in the middle of its height.
void TextIn(ImDrawList* draw, const Rect& rect, std::string_view text, ImU32 colour);

inline ImVec2 TopLeft(const Rect& rect) {
  return {rect.x, rect.y};
}
inline ImVec2 BottomRight(const Rect& rect) {
  return {rect.right(), rect.bottom()};
}

}  // namespace dryrig
