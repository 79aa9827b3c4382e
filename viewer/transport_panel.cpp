#include <fmt/format.h>

#include <array>

#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"

namespace dryrig {

namespace {

/// A button's sign: triangles (negative: to the left) and bars, in this order.
struct Sign {
  const char* name;
  TransportKey key;
  std::array<int, 3> parts;  // 1, -1: triangle; 2: bar; 0: none
  const char* meaning;
};
constexpr std::array kSigns{
    Sign{"start", TransportKey::kStart, {2, -1, 0}, "To the start (Home)"},
    Sign{"beat back", TransportKey::kBeatBack, {-1, -1, 2}, "To the beat before ([)"},
    Sign{"frame back", TransportKey::kFrameBack, {-1, 2, 0}, "One frame back (Left)"},
    Sign{"back", TransportKey::kBack, {-1, 0, 0}, "Play backwards (J)"},
    Sign{"stop", TransportKey::kStop, {2, 2, 0}, "Stop (K)"},
    Sign{"play", TransportKey::kForward, {1, 0, 0}, "Play (L or Space); again: faster"},
    Sign{"frame on", TransportKey::kFrameForward, {2, 1, 0}, "One frame on (Right)"},
    Sign{"beat on", TransportKey::kBeatForward, {2, 1, 1}, "To the next beat (])"},
    Sign{"end", TransportKey::kEnd, {1, 2, 0}, "To the end (End)"},
};

void DrawSign(Desk& desk, const Rect& button, const Sign& sign) {
  const float size = desk.Units(9);
  float width = 0;
  for (const int part : sign.parts) width += part == 0 ? 0 : part == 2 ? 0.5f * size : 0.9f * size;
  ImDrawList* draw = ImGui::GetWindowDrawList();
  float x = button.x + 0.5f * (button.w - width);
  const float y = button.y + 0.5f * button.h, half = 0.5f * size;
  for (const int part : sign.parts) {
    if (part == 2) {
      draw->AddRectFilled({x + 0.12f * size, y - half}, {x + 0.36f * size, y + half}, palette::kInk);
      x += 0.5f * size;
    } else if (part != 0) {
      const float tip = part > 0 ? x + 0.86f * size : x, foot = part > 0 ? x : x + 0.86f * size;
      draw->AddTriangleFilled({tip, y}, {foot, y - half}, {foot, y + half}, palette::kInk);
      x += 0.9f * size;
    }
  }
}

}  // namespace

void DrawTransport(Desk& desk) {
  const Panel panel(desk, "transport", desk.layout.transport);
  Session& session = desk.session;
  const Reel& reel = session.reel();
  const bool open = session.filmed(kFirst) != nullptr;
  ImGui::BeginDisabled(!open);
  for (const Sign& sign : kSigns) {
    if (&sign != &kSigns.front()) ImGui::SameLine(0, desk.Units(3));
    const std::string label = fmt::format("##{}", sign.name);
    if (PlacedButton(desk, label.c_str(), {desk.Units(36), 0})) {
      const std::array events{TransportEvent{sign.key, true}, TransportEvent{sign.key, false}};
      session.transport = Advance(session.transport, events, 0, reel);
    }
    const ImVec2 a = ImGui::GetItemRectMin(), b = ImGui::GetItemRectMax();
    DrawSign(desk, {a.x, a.y, b.x - a.x, b.y - a.y}, sign);
    Explain(sign.meaning);
  }
  ImGui::EndDisabled();
  if (!open) return;
  ImGui::SameLine(0, desk.Units(16));
  ImGui::PushFont(desk.fonts.bold);
  ImGui::AlignTextToFramePadding();
  ImGui::TextUnformatted(fmt::format("{} s", ShownTime(session.transport.t_s)).c_str());
  ImGui::PopFont();
  ImGui::SameLine(0, desk.Units(8));
  ImGui::TextDisabled("of %s s", ShownTime(reel.length_s).c_str());
  ImGui::SameLine(0, desk.Units(16));
  ImGui::Text("frame %d", FrameNumber(session.transport.t_s, reel.frame_hz));
  if (session.transport.speed != 0) {
    ImGui::SameLine(0, desk.Units(16));
    ImGui::Text("%s %s times", session.transport.speed > 0 ? "forwards" : "backwards",
                Shown(std::abs(session.transport.speed)).c_str());
  }
  if (const Sentence* said = SentenceAt(session.filmed(kFirst)->take, session.transport.t_s)) {
    ImGui::SameLine(0, desk.Units(24));
    ImGui::TextUnformatted(Shortened("\"" + said->text + "\"", RestOfLine()).c_str());
  }
}

}  // namespace dryrig
