#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>

#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "scenes/lesson.h"
#include "viewer/controls.h"
#include "viewer/dialogs.h"
#include "viewer/paint.h"
#include "viewer/palette.h"

namespace dryrig {

namespace {

/// Takes of a results folder; opened as A or beside it as B.
void DrawTakes(Desk& desk, const TakeList& list) {
  ImGui::TextWrapped("%s", fmt::format("{} holds {} takes. Those without series are filmed again from their stored inputs.",
                                       list.source, list.takes.size())
                               .c_str());
  constexpr ImGuiTableFlags kFlags = ImGuiTableFlags_ScrollY | ImGuiTableFlags_BordersInnerH | ImGuiTableFlags_RowBg;
  const ImVec2 size{0, -ImGui::GetFrameHeightWithSpacing() - desk.Units(4)};
  std::optional<std::pair<size_t, int>> chosen;
  if (ImGui::BeginTable("takes", 6, kFlags, size)) {
    ImGui::TableSetupScrollFreeze(0, 1);
    ImGui::TableSetupColumn("", ImGuiTableColumnFlags_WidthFixed, desk.Units(112));
    ImGui::TableSetupColumn("lesson", ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableSetupColumn("policy", ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableSetupColumn("person", ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableSetupColumn("sensing, seed", ImGuiTableColumnFlags_WidthStretch);
    ImGui::TableSetupColumn("series", ImGuiTableColumnFlags_WidthFixed, desk.Units(88));
    ImGui::TableHeadersRow();
    ImGuiListClipper rows;  // a store may hold ten thousand
    rows.Begin(static_cast<int>(list.takes.size()));
    while (rows.Step()) {
      for (int i = rows.DisplayStart; i < rows.DisplayEnd; ++i) {
        const StoredTake& take = list.takes[static_cast<size_t>(i)];
        ImGui::PushID(i);
        ImGui::TableNextRow();
        ImGui::TableNextColumn();
        if (PlacedButton(desk, fmt::format("Open##take {}", i).c_str())) chosen = {static_cast<size_t>(i), kFirst};
        ImGui::SameLine();
        ImGui::BeginDisabled(desk.session.filmed(kFirst) == nullptr);
        if (PlacedButton(desk, fmt::format("as B##take {} as B", i).c_str())) chosen = {static_cast<size_t>(i), kSecond};
        ImGui::EndDisabled();
        Explain("Beside the take that is open");
        const auto cell = [](const std::string& text) {
          ImGui::TableNextColumn();
          ImGui::AlignTextToFramePadding();
          ImGui::TextUnformatted(Shortened(text, RestOfLine()).c_str());
        };
        cell(take.identity.lesson);
        cell(take.identity.policy);
        Explain(take.identity.params);
        cell(take.identity.person);
        cell(fmt::format("{}, {}", take.identity.sensing, take.identity.seed));
        cell(take.has_series ? "kept" : "filmed again");
        ImGui::PopID();
      }
    }
    ImGui::EndTable();
  }
  if (PlacedButton(desk, "Close##close open", {desk.Units(110), 0})) {
    desk.session.CloseList();
    desk.front.dialog = Dialog::kNone;
    return;
  }
  if (!chosen) return;
  desk.front.dialog = Dialog::kNone;
  desk.session.OpenListed(chosen->first, chosen->second);
}

/// Names and titles. A shipped file that is broken is told of when it is opened, not here.
std::vector<std::pair<std::string, std::string>> ShippedLessons() {
  std::vector<std::pair<std::string, std::string>> out;
  const auto or_nothing = [](auto&& read) {
    try {
      read();
    } catch (const InputError&) {
    }
  };
  or_nothing([&] {
    for (const std::string& name : ListScenes(SceneKind::kLesson)) {
      out.emplace_back(name, "cannot be read");
      or_nothing([&] { out.back().second = ReadLesson(FindScene(SceneKind::kLesson, name)).title; });
    }
  });
  return out;
}

}  // namespace

void OpenNamed(Desk& desk, const std::string& what, int slot) {
  desk.front.dialog = Dialog::kNone;
  desk.session.Open(what, slot);
}

void DrawOpenDialog(Desk& desk) {
  if (desk.session.list()) return DrawTakes(desk, *desk.session.list());
  Front& front = desk.front;
  ImGui::TextUnformatted("A lesson (.yaml), a take (results.db, results.db:3), a results folder, or saved parameters (.policy):");
  ImGui::SetNextItemWidth(-desk.Units(90));
  if (ImGui::IsWindowAppearing()) {
    ImGui::SetKeyboardFocusHere();
    front.lessons = ShippedLessons();
  }
  const bool entered = ImGui::InputText("##path", &front.path, ImGuiInputTextFlags_EnterReturnsTrue);
  NotePlace(desk, "path");
  ImGui::SameLine();
  if ((PlacedButton(desk, "Open##open path", {desk.Units(82), 0}) || entered) && !front.path.empty()) OpenNamed(desk, front.path);
  ImGui::Spacing();
  const ImVec2 room{ImGui::GetContentRegionAvail().x,
                    ImGui::GetContentRegionAvail().y - ImGui::GetFrameHeightWithSpacing() - desk.Units(4)};
  ImGui::BeginChild("lessons", {std::floor(0.36f * room.x), room.y}, true);
  Heading(desk, "Shipped lessons");
  for (const auto& [lesson, title] : front.lessons) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    if (ImGui::Selectable(("##lesson " + lesson).c_str(), false, 0, {0, 2 * ImGui::GetTextLineHeight() + desk.Units(4)}))
      OpenNamed(desk, lesson);
    NotePlace(desk, "lesson " + lesson);
    ImDrawList* draw = ImGui::GetWindowDrawList();
    draw->AddText({at.x, at.y}, palette::kInk, lesson.c_str());
    ImGui::PushFont(desk.fonts.small);
    draw->AddText({at.x, at.y + desk.fonts.text->FontSize}, palette::kFaintInk, Shortened(title, RestOfLine()).c_str());
    ImGui::PopFont();
  }
  ImGui::EndChild();
  ImGui::SameLine();
  ImGui::BeginChild("recent", {0, room.y}, true);
  Heading(desk, "Opened before");
  if (desk.settings.recent.empty()) ImGui::TextDisabled("nothing yet");
  const std::vector<std::string> recent = desk.settings.recent;
  for (const std::string& what : recent) {
    // The end of a path tells most.
    std::string shown = what;
    while (ImGui::CalcTextSize(shown.c_str()).x > RestOfLine() && shown.find('/', 1) != std::string::npos)
      shown = "..." + shown.substr(shown.find('/', 4));
    if (ImGui::Selectable((shown + "##recent " + what).c_str())) OpenNamed(desk, what);
    Explain(what);
  }
  ImGui::EndChild();
  if (PlacedButton(desk, "Close##close open", {desk.Units(110), 0})) front.dialog = Dialog::kNone;
}

}  // namespace dryrig
