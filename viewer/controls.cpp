#include "viewer/controls.h"

#include <cstring>

#include "viewer/paint.h"
#include "viewer/palette.h"

namespace dryrig {

namespace {

constexpr ImGuiWindowFlags kPanelFlags =
    ImGuiWindowFlags_NoTitleBar | ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoCollapse |
    ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoBackground |
    ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse | ImGuiWindowFlags_NoNav;

const char* PlaceName(const char* label) {
  const char* hidden = std::strstr(label, "##");
  return hidden != nullptr ? hidden + 2 : label;
}

}  // namespace

Panel::Panel(Desk& desk, const char* name, const Rect& rect, bool padded) {
  ImGui::SetNextWindowPos(TopLeft(rect));
  ImGui::SetNextWindowSize({std::max(1.f, rect.w), std::max(1.f, rect.h)});
  if (!padded) ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2(0, 0));
  ImGui::PushStyleVar(ImGuiStyleVar_WindowMinSize, ImVec2(1, 1));
  ImGui::Begin(name, nullptr, kPanelFlags);
  ImGui::PopStyleVar(padded ? 1 : 2);
  // Behind all panels, whose paper is clear; an edge is shared with the next panel.
  ImGui::GetBackgroundDrawList()->AddRect(TopLeft(rect), {rect.right() + 1, rect.bottom() + 1}, palette::kLine);
  desk.places.Put(std::string("panel ") + name, rect);
}
Panel::~Panel() {
  ImGui::End();
}

void Heading(Desk& desk, const char* text) {
  if (ImGui::GetCursorPosY() <= ImGui::GetStyle().WindowPadding.y) ImGui::SetCursorPosY(desk.Units(3));
  ImGui::PushFont(desk.fonts.bold);
  ImGui::AlignTextToFramePadding();
  ImGui::TextUnformatted(text);
  ImGui::PopFont();
}

void NotePlace(Desk& desk, const std::string& name) {
  const ImVec2 a = ImGui::GetItemRectMin(), b = ImGui::GetItemRectMax();
  desk.places.Put(name, {a.x, a.y, b.x - a.x, b.y - a.y});
}

bool PlacedButton(Desk& desk, const char* label, const ImVec2& size) {
  const bool pressed = ImGui::Button(label, size);
  NotePlace(desk, PlaceName(label));
  return pressed;
}

bool SmallToggle(Desk& desk, const char* label, bool* on, const char* meaning) {
  ImGui::PushFont(desk.fonts.small);
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, ImVec2(desk.Units(2), desk.Units(1)));
  ImGui::PushStyleVar(ImGuiStyleVar_ItemInnerSpacing, ImVec2(desk.Units(3), 0));
  const bool changed = ImGui::Checkbox(label, on);
  NotePlace(desk, PlaceName(label));
  ImGui::PopStyleVar(2);
  ImGui::PopFont();
  Explain(meaning);
  return changed;
}

void Explain(const std::string& text) {
  if (!ImGui::IsItemHovered(ImGuiHoveredFlags_AllowWhenDisabled)) return;
  ImGui::BeginTooltip();
  ImGui::PushTextWrapPos(26 * ImGui::GetFontSize());
  ImGui::TextUnformatted(text.c_str());
  ImGui::PopTextWrapPos();
  ImGui::EndTooltip();
}

float RestOfLine() {
  return ImGui::GetContentRegionAvail().x;
}

void AlignRight(float width) {
  const float rest = RestOfLine();
  if (rest > width) ImGui::SetCursorPosX(ImGui::GetCursorPosX() + rest - width);
}

void SlotChoice(Desk& desk, const char* name, int* slot) {
  if (!desk.session.comparing()) {
    *slot = kFirst;
    return;
  }
  for (const int i : {kFirst, kSecond}) {
    ImGui::SameLine(0, desk.Units(i == kFirst ? 8 : 2));
    const bool chosen = *slot == i;
    if (chosen) ImGui::PushStyleColor(ImGuiCol_Button, palette::kChosenRow);
    if (chosen) ImGui::PushFont(desk.fonts.bold);
    const std::string label = std::string(LetterOf(i)) + "##" + name + " " + LetterOf(i);
    if (PlacedButton(desk, label.c_str())) *slot = i;
    if (chosen) ImGui::PopFont();
    if (chosen) ImGui::PopStyleColor();
    Explain(std::string("Take ") + LetterOf(i) + ": " + desk.Filmed(i)->source);
  }
}

}  // namespace dryrig
