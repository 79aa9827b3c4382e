// The room, to look around in: how near the robot is, and the numbers of the body that was clicked.
#include <fmt/format.h>

#include "viewer/body_facts.h"
#include "viewer/controls.h"
#include "viewer/overlay.h"
#include "viewer/paint.h"
#include "viewer/palette.h"

namespace dryrig {

namespace {

constexpr float kTurn_rad = 0.008f;  // a pixel

/// Drag turns, drag with the right or middle button or with shift pans, the wheel zooms. True: a click, no drag.
bool MoveOrbit(Desk& desk, float height) {
  ImGuiIO& io = ImGui::GetIO();
  Orbit& orbit = desk.settings.orbit;
  if (ImGui::IsItemActive()) {
    const ImVec2 by = io.MouseDelta;
    if (by.x != 0 || by.y != 0) {
      desk.front.turned = true;
      if (io.MouseDown[ImGuiMouseButton_Left] && !io.KeyShift) {
        orbit.Turn(-kTurn_rad * by.x / desk.scale, kTurn_rad * by.y / desk.scale);
      } else {
        orbit.Pan(by.x / height, by.y / height);
      }
    }
  }
  if (!ImGui::IsItemHovered()) return false;
  if (io.MouseWheel != 0) {
    orbit.Zoom(std::pow(0.88f, io.MouseWheel));
    desk.front.turned = true;
  }
  const float most = desk.Units(4);
  return ImGui::IsMouseReleased(ImGuiMouseButton_Left) && io.MouseDragMaxDistanceSqr[ImGuiMouseButton_Left] < most * most;
}

/// The body that was clicked, on a card at the picture's foot.
void DrawFacts(Desk& desk, ImDrawList* draw, const Rect& picture, int slot) {
  if (desk.front.body < 0 || desk.front.body_slot != slot || desk.front.body >= desk.pictures.BodiesOf(slot)) return;
  const BodyFacts facts =
      FactsOf(desk.Filmed(slot)->take, desk.Frame(slot), desk.front.body, desk.pictures.NameOf(slot, desk.front.body));
  ImGui::PushFont(desk.fonts.small);
  const float line = ImGui::GetTextLineHeight() + desk.Units(1), pad = desk.Units(6), gap = desk.Units(82);
  const float height = line * static_cast<float>(facts.lines.size() + 1) + 2 * pad;
  const Rect card{picture.x + pad, picture.bottom() - pad - height, std::min(picture.w - 2 * pad, desk.Units(330)), height};
  draw->AddRectFilled(TopLeft(card), BottomRight(card), IM_COL32(250, 249, 246, 232), 2);
  draw->AddRect(TopLeft(card), BottomRight(card), palette::kLine, 2);
  ImGui::PushFont(desk.fonts.bold);
  draw->AddText({card.x + pad, card.y + pad - desk.Units(2)}, palette::kInk, facts.name.c_str());
  ImGui::PopFont();
  float y = card.y + pad + line;
  for (const auto& [name, value] : facts.lines) {
    draw->AddText({card.x + pad, y}, palette::kFaintInk, Shortened(name, gap - desk.Units(4)).c_str());
    draw->AddText({card.x + pad + gap, y}, palette::kInk, Shortened(value, card.w - gap - 2 * pad).c_str());
    y += line;
  }
  ImGui::PopFont();
  desk.places.Put("facts " + facts.name, card);
}

void DrawDistanceWords(Desk& desk, ImDrawList* draw, const Rect& picture, const Nearness& near) {
  ImGui::PushFont(desk.fonts.small);
  const float pad = desk.Units(6), room = picture.w - 3 * pad;
  const Rect first =
      PictureText(draw, {picture.x + pad, picture.y + pad}, Shortened(fmt::format("nearest: {}", near.pair), room));
  if (near.protective_m) {
    const double missing_mm = (*near.protective_m - near.distance_m) * 1000;
    const std::string text = missing_mm > 0
                                 ? fmt::format("protective {:.0f} mm: {:.0f} missing", *near.protective_m * 1000, missing_mm)
                                 : fmt::format("protective {:.0f} mm: kept", *near.protective_m * 1000);
    PictureText(draw, {picture.x + pad, first.bottom() + desk.Units(2)}, Shortened(text, room));
  }
  ImGui::PopFont();
}

}  // namespace

void DrawRoom(Desk& desk) {
  const Rect all = desk.layout.room;
  const Panel panel(desk, "room", all);
  ImGui::SetCursorScreenPos({all.x + desk.Units(8), all.y + desk.Units(3)});
  Heading(desk, "How near?");
  const bool open = desk.session.filmed(kFirst) != nullptr;
  if (open) SlotChoice(desk, "room", &desk.front.room_slot);
  ImGui::SameLine(0, desk.Units(10));
  AlignRight(desk.Units(144));
  ImGui::SetCursorPosY(ImGui::GetCursorPosY() + desk.Units(3));  // level with the heading's words
  SmallToggle(desk, "distance", &desk.settings.clearance,
              "The nearest pair of robot and person (C). Dashed: what is missing of the protective separation distance, after "
              "ISO/TS 15066 for a person at 1.6 m/s; illustrative.");
  ImGui::SameLine();
  if (RestOfLine() > desk.Units(60))
    SmallToggle(desk, "shadow", &desk.settings.shadows,
                "Shadows, to judge depth. A slow machine leaves them out while the picture moves.");
  const float pad = desk.Units(6), top = all.y + desk.Units(26);
  const Rect picture{all.x + pad, top, std::floor(all.w - 2 * pad), std::floor(all.bottom() - pad - top)};
  ImDrawList* draw = ImGui::GetWindowDrawList();
  if (!open || picture.w < 16 || picture.h < 16) {
    draw->AddRectFilled(TopLeft(picture), BottomRight(picture), palette::kSurround);
    return;
  }
  const int slot = desk.front.room_slot;
  const auto& filmed = desk.Filmed(slot);
  const size_t frame = desk.Frame(slot);
  Pictures::How how{static_cast<int>(picture.w * desk.pixels), static_cast<int>(picture.h * desk.pixels), -1,
                    desk.settings.shadows && !desk.front.hurried};
  if (desk.front.body_slot == slot) how.highlight = desk.front.body;
  const uint32_t texture = desk.pictures.Room(slot, filmed, frame, desk.settings.orbit, how);
  ImGui::SetCursorScreenPos(TopLeft(picture));
  ImGui::Image(reinterpret_cast<ImTextureID>(static_cast<intptr_t>(texture)), {picture.w, picture.h}, {0, 1}, {1, 0});
  ImGui::SetCursorScreenPos(TopLeft(picture));
  ImGui::InvisibleButton(
      "room", {picture.w, picture.h},
      ImGuiButtonFlags_MouseButtonLeft | ImGuiButtonFlags_MouseButtonRight | ImGuiButtonFlags_MouseButtonMiddle);
  NotePlace(desk, "room");
  if (MoveOrbit(desk, picture.h)) {
    const ImVec2 mouse = ImGui::GetIO().MousePos;
    desk.front.body = desk.pictures.BodyInRoom(static_cast<int>((mouse.x - picture.x) * desk.pixels),
                                               static_cast<int>((mouse.y - picture.y) * desk.pixels));
    desk.front.body_slot = slot;
  }
  const View view = RoomView(desk.settings.orbit, static_cast<double>(picture.w) / picture.h);
  const TakeFrame& at = filmed->take.frames[frame];
  const double t_s = desk.session.transport.t_s;
  if (desk.settings.sight_lines) {
    const TimedIntent* asked = IntentAt(filmed->take, t_s);
    DrawSightLines(desk, draw, picture, view, at,
                   desk.pictures.Sight(slot, filmed, frame, asked != nullptr ? asked->shot : at.chosen));
  }
  if (desk.settings.clearance) {
    if (const auto near = NearnessAt(filmed->take, filmed->card, t_s)) {
      DrawNearest(desk, draw, picture, view, *near);
      DrawDistanceWords(desk, draw, picture, *near);
    }
  }
  DrawFacts(desk, draw, picture, slot);
}

}  // namespace dryrig
