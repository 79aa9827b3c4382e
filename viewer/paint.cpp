#include "viewer/paint.h"

#include <algorithm>
#include <cmath>

#include "viewer/palette.h"

namespace dryrig {

namespace {

/// Start of the character before `at`: UTF-8 is cut between characters alone.
size_t Before(std::string_view text, size_t at) {
  do --at;
  while (at > 0 && (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80);
  return at;
}

float Width(std::string_view text) {
  return ImGui::CalcTextSize(text.data(), text.data() + text.size()).x;
}

}  // namespace

void DashedLine(ImDrawList* draw, ImVec2 a, ImVec2 b, ImU32 colour, float thickness, float dash) {
  const float dx = b.x - a.x, dy = b.y - a.y;
  const float length = std::hypot(dx, dy);
  constexpr float kLongest = 20000;  // a line to a point far outside the picture
  if (!(length > 0) || length > kLongest) return;
  for (float at = 0; at < length; at += 2 * dash) {
    const float to = std::min(at + dash, length);
    draw->AddLine({a.x + dx * at / length, a.y + dy * at / length}, {a.x + dx * to / length, a.y + dy * to / length}, colour,
                  thickness);
  }
}

void DashedRect(ImDrawList* draw, const Rect& r, ImU32 colour, float thickness, float dash) {
  DashedLine(draw, {r.x, r.y}, {r.right(), r.y}, colour, thickness, dash);
  DashedLine(draw, {r.right(), r.y}, {r.right(), r.bottom()}, colour, thickness, dash);
  DashedLine(draw, {r.x, r.bottom()}, {r.right(), r.bottom()}, colour, thickness, dash);
  DashedLine(draw, {r.x, r.y}, {r.x, r.bottom()}, colour, thickness, dash);
}

void FillAround(ImDrawList* draw, const Rect& room, const Rect& picture, ImU32 colour) {
  draw->AddRectFilled(TopLeft(room), {room.right(), picture.y}, colour);
  draw->AddRectFilled({room.x, picture.bottom()}, BottomRight(room), colour);
  draw->AddRectFilled({room.x, picture.y}, {picture.x, picture.bottom()}, colour);
  draw->AddRectFilled({picture.right(), picture.y}, {room.right(), picture.bottom()}, colour);
}

void Hatch(ImDrawList* draw, const Rect& rect, ImU32 colour, float step, float thickness) {
  draw->PushClipRect(TopLeft(rect), BottomRight(rect), true);
  const float first = std::floor((rect.x - rect.h) / step) * step;  // on a grid of the window: neighbours join
  for (float x = first; x < rect.right(); x += step) {
    draw->AddLine({x, rect.bottom()}, {x + rect.h, rect.y}, colour, thickness);
  }
  draw->PopClipRect();
}

void RingMark(ImDrawList* draw, ImVec2 at, float radius, ImU32 colour) {
  draw->AddCircle(at, radius, palette::kShade, 12, 3);
  draw->AddCircle(at, radius, colour, 12, 1.5f);
}

void CrossMark(ImDrawList* draw, ImVec2 at, float radius, ImU32 colour) {
  for (const auto& [shade, thickness] : {std::pair(palette::kShade, 4.f), std::pair(colour, 2.f)}) {
    draw->AddLine({at.x - radius, at.y - radius}, {at.x + radius, at.y + radius}, shade, thickness);
    draw->AddLine({at.x - radius, at.y + radius}, {at.x + radius, at.y - radius}, shade, thickness);
  }
}

void Pointer(ImDrawList* draw, ImVec2 tip, float size, bool down, ImU32 colour) {
  const float up = down ? -size : size;
  draw->AddTriangleFilled(tip, {tip.x - 0.62f * size, tip.y + up}, {tip.x + 0.62f * size, tip.y + up}, colour);
}

Rect PictureText(ImDrawList* draw, ImVec2 at, const std::string& text, ImU32 colour) {
  const ImVec2 size = ImGui::CalcTextSize(text.c_str());
  const float pad = std::round(0.25f * ImGui::GetFontSize());
  const Rect ground{std::round(at.x), std::round(at.y), size.x + 2 * pad, size.y + pad};
  draw->AddRectFilled(TopLeft(ground), BottomRight(ground), palette::kShade, 2);
  draw->AddText({ground.x + pad, ground.y + std::round(0.5f * pad)}, colour, text.c_str());
  return ground;
}

std::string Shortened(std::string_view text, float width) {
  if (Width(text) <= width) return std::string(text);
  size_t end = text.size();
  const float room = width - Width("...");
  // The text may be far too long: halve first, then go letter by letter.
  while (end > 8 && Width(text.substr(0, end / 2)) > room) end = end / 2;
  while (end > 0 &&
         (end == text.size() || (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80 || Width(text.substr(0, end)) > room)) {
    end = Before(text, end);
  }
  while (end > 0 && text[end - 1] == ' ') --end;
  return end < 3 ? "" : std::string(text.substr(0, end)) + "...";
}

void TextIn(ImDrawList* draw, const Rect& rect, std::string_view text, ImU32 colour) {
  const float pad = std::round(0.25f * ImGui::GetFontSize());
  const std::string shown = Shortened(text, rect.w - 2 * pad);
  if (shown.empty()) return;
  const float y = rect.y + std::floor(0.5f * (rect.h - ImGui::GetFontSize()));
  draw->PushClipRect(TopLeft(rect), BottomRight(rect), true);
  draw->AddText({std::round(rect.x + pad), y}, colour, shown.c_str());
  draw->PopClipRect();
}

}  // namespace dryrig
