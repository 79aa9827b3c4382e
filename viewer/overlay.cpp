#include "viewer/overlay.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "viewer/paint.h"
#include "viewer/palette.h"

namespace dryrig {

namespace {

// Action-safe share of width and height after SMPTE ST 2046-1, from memory.
constexpr float kSafe = 0.93f;

ImVec2 OnPicture(const Rect& picture, const ImagePoint& at) {
  return {picture.x + 0.5f * picture.w + static_cast<float>(at.x()) * picture.h,
          picture.y + 0.5f * picture.h + static_cast<float>(at.y()) * picture.h};
}

std::optional<ImVec2> OnRoom(const Rect& picture, const View& view, const Eigen::Vector3d& p_W) {
  const auto at = ToPixel(view, p_W, static_cast<int>(picture.w), static_cast<int>(picture.h));
  if (!at) return std::nullopt;
  return ImVec2(picture.x + static_cast<float>(at->x()), picture.y + static_cast<float>(at->y()));
}

void LightLine(ImDrawList* draw, ImVec2 a, ImVec2 b, ImU32 colour, float thickness = 1.5f) {
  draw->AddLine(a, b, IM_COL32(0, 0, 0, 130), thickness + 2);
  draw->AddLine(a, b, colour, thickness);
}

/// Where a point outside the frame is pointed to from the frame's edge.
ImVec2 AtEdge(const Rect& picture, ImVec2 at, float inset) {
  return {std::clamp(at.x, picture.x + inset, picture.right() - inset),
          std::clamp(at.y, picture.y + inset, picture.bottom() - inset)};
}

}  // namespace

void DrawThirds(const Desk& desk, ImDrawList* draw, const Rect& picture) {
  for (const float share : {1 / 3.f, 2 / 3.f}) {
    const float x = std::round(picture.x + share * picture.w), y = std::round(picture.y + share * picture.h);
    for (const auto& [off, colour] :
         {std::pair(desk.scale, IM_COL32(0, 0, 0, 90)), std::pair(0.f, IM_COL32(255, 255, 255, 170))}) {
      draw->AddLine({x + off, picture.y}, {x + off, picture.bottom()}, colour, desk.scale);
      draw->AddLine({picture.x, y + off}, {picture.right(), y + off}, colour, desk.scale);
    }
  }
}

void DrawSafeArea(const Desk& desk, ImDrawList* draw, const Rect& picture) {
  const float dx = std::round(0.5f * (1 - kSafe) * picture.w), dy = std::round(0.5f * (1 - kSafe) * picture.h);
  const Rect safe{picture.x + dx, picture.y + dy, picture.w - 2 * dx, picture.h - 2 * dy};
  DashedRect(draw, {safe.x + 1, safe.y + 1, safe.w, safe.h}, IM_COL32(0, 0, 0, 110), desk.scale, desk.Units(5));
  DashedRect(draw, safe, IM_COL32(255, 255, 255, 210), desk.scale, desk.Units(5));
}

void DrawSight(const Desk& desk, ImDrawList* draw, const Rect& picture, const Take& take, const TakeFrame& frame,
               const SightReport& sight, const Shot& shot) {
  const Eigen::Isometry3d X_CW = frame.X_WC.inverse();
  const float size = desk.Units(4);
  draw->PushClipRect(TopLeft(picture), BottomRight(picture), true);
  for (const SampleLine& line : sight.lines) {
    const auto image = Project(take.camera, frame.lens, X_CW * line.p_W);
    if (!image) continue;
    const ImVec2 at = OnPicture(picture, *image);
    switch (line.sight) {
      case SampleSight::kClear:
        RingMark(draw, at, size, palette::kSky);
        break;
      case SampleSight::kBlocked:
        CrossMark(draw, at, size, palette::kOrange);
        break;
      case SampleSight::kOutside: {
        const ImVec2 edge = AtEdge(picture, at, 2.2f * size);
        const float dx = at.x - edge.x, dy = at.y - edge.y, length = std::max(1.f, std::hypot(dx, dy));
        const ImVec2 to{dx / length, dy / length};
        for (const auto& [reach, colour] : {std::pair(2.f, palette::kShade), std::pair(0.f, palette::kWhite)}) {
          const float r = size + reach;
          draw->AddTriangleFilled({edge.x + 1.6f * r * to.x, edge.y + 1.6f * r * to.y}, {edge.x - r * to.y, edge.y + r * to.x},
                                  {edge.x + r * to.y, edge.y - r * to.x}, colour);
        }
        break;
      }
    }
  }
  const FramePoint wanted = CompositionPoint(shot.composition, take.camera.aspect());
  const ImVec2 goal = OnPicture(picture, {wanted.x, wanted.y});
  const float reach = desk.Units(11), gap = desk.Units(5);
  for (const auto& [x, y] : {std::pair(1.f, 0.f), std::pair(-1.f, 0.f), std::pair(0.f, 1.f), std::pair(0.f, -1.f)}) {
    LightLine(draw, {goal.x + gap * x, goal.y + gap * y}, {goal.x + reach * x, goal.y + reach * y}, palette::kWhite,
              1.5f * desk.scale);
  }
  if (sight.framing.in_front) {
    const ImVec2 centre = OnPicture(picture, sight.framing.centre);
    LightLine(draw, goal, centre, IM_COL32(255, 255, 255, 190), desk.scale);
    const float r = desk.Units(5);
    draw->AddQuadFilled({centre.x, centre.y - r - 2}, {centre.x + r + 2, centre.y}, {centre.x, centre.y + r + 2},
                        {centre.x - r - 2, centre.y}, palette::kShade);
    draw->AddQuadFilled({centre.x, centre.y - r}, {centre.x + r, centre.y}, {centre.x, centre.y + r}, {centre.x - r, centre.y},
                        palette::kWhite);
  }
  draw->PopClipRect();
}

void DrawSightLines(const Desk& desk, ImDrawList* draw, const Rect& picture, const View& view, const TakeFrame& frame,
                    const SightReport& sight) {
  const auto lens = OnRoom(picture, view, frame.X_WC.translation());
  if (!lens) return;
  draw->PushClipRect(TopLeft(picture), BottomRight(picture), true);
  for (const SampleLine& line : sight.lines) {
    const auto at = OnRoom(picture, view, line.p_W);
    if (!at || line.sight == SampleSight::kOutside) continue;
    if (line.sight == SampleSight::kClear) {
      draw->AddLine(*lens, *at, (palette::kSky & ~IM_COL32_A_MASK) | IM_COL32(0, 0, 0, 150), 1);
    } else {
      DashedLine(draw, *lens, *at, palette::kOrange, 1, desk.Units(5));
    }
  }
  for (const SampleLine& line : sight.lines) {
    const auto at = OnRoom(picture, view, line.p_W);
    if (at && line.sight == SampleSight::kBlocked) CrossMark(draw, *at, desk.Units(2.5f), palette::kOrange);
  }
  draw->PopClipRect();
}

Orbit FirstOrbit(const Take& take) {
  const Eigen::Vector3d base_W = take.X_WB.translation() + Eigen::Vector3d(0, 0, 0.4);
  const Eigen::Vector3d head_W = take.frames.front().person.p_WHead();
  Orbit best;
  double widest = -1;
  for (const double azimuth_rad : {best.azimuth_rad, -best.azimuth_rad}) {
    Orbit orbit;
    orbit.azimuth_rad = azimuth_rad;
    const View view = RoomView(orbit, 1);
    const auto base = ToPixel(view, base_W, 1000, 1000), head = ToPixel(view, head_W, 1000, 1000);
    const double apart = base && head ? std::abs(base->x() - head->x()) : 0;
    if (apart > widest + 1) {  // the first unless the other is better by a thousandth of the picture
      widest = apart;
      best = orbit;
    }
  }
  return best;
}

void DrawNearest(const Desk& desk, ImDrawList* draw, const Rect& picture, const View& view, const Nearness& near) {
  const auto person = OnRoom(picture, view, near.p_WPerson), arm = OnRoom(picture, view, near.p_WArm);
  if (!person || !arm) return;
  draw->PushClipRect(TopLeft(picture), BottomRight(picture), true);
  const Eigen::Vector3d apart_W = near.p_WArm - near.p_WPerson;
  if (near.protective_m && *near.protective_m > near.distance_m && apart_W.norm() > 1e-6) {
    // As far as the robot ought to be along the same line: what is missing is dashed, with a bar at its end.
    const auto wanted = OnRoom(picture, view, near.p_WPerson + apart_W.normalized() * *near.protective_m);
    if (wanted) {
      DashedLine(draw, *arm, *wanted, palette::kShade, 4, desk.Units(6));
      DashedLine(draw, *arm, *wanted, palette::kOrange, 2, desk.Units(6));
      const float dx = wanted->x - person->x, dy = wanted->y - person->y, length = std::max(1.f, std::hypot(dx, dy));
      const float bar = desk.Units(7);
      LightLine(draw, {wanted->x - bar * dy / length, wanted->y + bar * dx / length},
                {wanted->x + bar * dy / length, wanted->y - bar * dx / length}, palette::kOrange, 2);
    }
  }
  LightLine(draw, *person, *arm, palette::kWhite, 2 * desk.scale);
  for (const ImVec2& end : {*person, *arm}) {
    draw->AddCircleFilled(end, desk.Units(4), palette::kShade);
    draw->AddCircleFilled(end, desk.Units(2.5f), palette::kWhite);
  }
  ImGui::PushFont(desk.fonts.bold);
  const std::string text = fmt::format("{:.0f} mm", near.distance_m * 1000);
  const ImVec2 size = ImGui::CalcTextSize(text.c_str());
  const ImVec2 middle{0.5f * (person->x + arm->x), 0.5f * (person->y + arm->y)};
  const float pad = desk.Units(10), words = desk.Units(48);  // what stands at the picture's top
  PictureText(
      draw,
      {std::clamp(middle.x + pad, picture.x, std::max(picture.x, picture.right() - size.x - pad)),
       std::clamp(middle.y - size.y - pad, picture.y + words, std::max(picture.y + words, picture.bottom() - size.y - pad))},
      text);
  ImGui::PopFont();
  draw->PopClipRect();
}

}  // namespace dryrig
