#include "viewer/dialogs.h"

#include <fmt/format.h>
#include <imgui.h>
#include <imgui_stdlib.h>

#include <array>

#include "scenes/catalogue.h"
#include "viewer/controls.h"
#include "viewer/keys.h"
#include "viewer/palette.h"
#include "viewer/policy_file.h"
#include "viewer/problem_text.h"

namespace dryrig {

namespace {

struct DialogKind {
  Dialog dialog;
  const char* title;
  float width, height;  // units, at most the window's
  void (*draw)(Desk&);
};
constexpr std::array kDialogs{
    DialogKind{Dialog::kOpen, "Open", 760, 500, DrawOpenDialog},
    DialogKind{Dialog::kHelp, "Keys and mouse", 860, 560, DrawHelpDialog},
    DialogKind{Dialog::kSave, "Save these parameters", 640, 300, DrawSaveDialog},
    DialogKind{Dialog::kProblem, "This did not work", 760, 360, DrawProblemDialog},
};

}  // namespace

void DrawDialogs(Desk& desk) {
  Front& front = desk.front;
  if (!desk.session.problems().empty()) front.dialog = Dialog::kProblem;
  if (front.dialog == Dialog::kProblem && desk.session.problems().empty()) front.dialog = Dialog::kNone;
  for (const DialogKind& kind : kDialogs) {
    const bool wanted = front.dialog == kind.dialog;
    if (wanted && !ImGui::IsPopupOpen(kind.title)) ImGui::OpenPopup(kind.title);
    const ImVec2 window = ImGui::GetIO().DisplaySize;
    const ImVec2 size{std::min(desk.Units(kind.width), window.x - desk.Units(20)),
                      std::min(desk.Units(kind.height), window.y - desk.Units(20))};
    ImGui::SetNextWindowPos({0.5f * window.x, 0.5f * window.y}, ImGuiCond_Always, {0.5f, 0.5f});
    ImGui::SetNextWindowSize(size);
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2(desk.Units(14), desk.Units(10)));
    bool stays = true;
    const bool shown = ImGui::BeginPopupModal(
        kind.title, &stays, ImGuiWindowFlags_NoResize | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings);
    ImGui::PopStyleVar();
    if (!shown) continue;
    desk.places.Put(std::string("dialog ") + kind.title,
                    {ImGui::GetWindowPos().x, ImGui::GetWindowPos().y, ImGui::GetWindowSize().x, ImGui::GetWindowSize().y});
    if (wanted) kind.draw(desk);
    if (!stays && front.dialog == kind.dialog) {
      front.dialog = Dialog::kNone;
      if (kind.dialog == Dialog::kProblem) desk.session.DismissProblems();
      if (kind.dialog == Dialog::kOpen) desk.session.CloseList();
    }
    if (front.dialog != kind.dialog) ImGui::CloseCurrentPopup();
    ImGui::EndPopup();
  }
}

void DrawHelpDialog(Desk& desk) {
  constexpr std::array<std::array<const char*, 2>, 9> kMouse{{
      {"Time line", "press or draw to scrub; the wheel shows less or more time, the middle button draws it along"},
      {"Triangle in a plot", "the worst moment: press to go there"},
      {"Scorecard", "press a metric to plot it and go to its worst moment; again to take it off"},
      {"Room, draw", "turn; with shift, right or middle button: move along"},
      {"Room, wheel", "nearer and farther"},
      {"Body", "press it in the room or a lens picture for its name and numbers"},
      {"Slider", "control and press to type a number; right button: its default"},
      {"Drop a file", "lesson, results.db, folder or .policy: opens it"},
      {"Rest on anything", "says what it is"},
  }};
  const auto rows = [&](const char* name, float width, auto&& each) {
    if (!ImGui::BeginTable(name, 2, ImGuiTableFlags_BordersInnerH, {width, 0})) return;
    ImGui::TableSetupColumn("key", ImGuiTableColumnFlags_WidthFixed, desk.Units(96));
    ImGui::TableSetupColumn("meaning", ImGuiTableColumnFlags_WidthStretch);
    each();
    ImGui::EndTable();
  };
  const auto row = [&](std::string_view key, std::string_view meaning) {
    ImGui::TableNextRow();
    ImGui::TableNextColumn();
    ImGui::PushFont(desk.fonts.bold);
    ImGui::TextWrapped("%s", std::string(key).c_str());
    ImGui::PopFont();
    ImGui::TableNextColumn();
    ImGui::TextWrapped("%s", std::string(meaning).c_str());
  };
  ImGui::BeginChild("keys", {0, -ImGui::GetFrameHeightWithSpacing() - desk.Units(4)});
  ImGui::PushFont(desk.fonts.small);
  const float half = std::floor(0.5f * (ImGui::GetContentRegionAvail().x - desk.Units(18)));
  ImGui::BeginGroup();
  rows("by key", half, [&] {
    for (const KeyBinding& binding : KeyTable()) {
      if (!binding.keys.empty()) row(binding.keys, binding.meaning);
    }
  });
  ImGui::EndGroup();
  ImGui::SameLine(0, desk.Units(18));
  ImGui::BeginGroup();
  rows("by mouse", half, [&] {
    for (const auto& [what, meaning] : kMouse) row(what, meaning);
  });
  ImGui::EndGroup();
  ImGui::PopFont();
  ImGui::EndChild();
  if (PlacedButton(desk, "Close##close help", {desk.Units(110), 0})) desk.front.dialog = Dialog::kNone;
}

void DrawProblemDialog(Desk& desk) {
  const Problem& problem = desk.session.problems().back();
  const ProblemText text = ReadProblem(problem.message);
  ImGui::PushFont(desk.fonts.bold);
  ImGui::TextWrapped("%s", problem.doing.c_str());
  ImGui::PopFont();
  ImGui::BeginChild("said", {0, -ImGui::GetFrameHeightWithSpacing() - desk.Units(6)});
  if (!text.pos.file.empty()) ImGui::TextWrapped("%s", ToString(text.pos).c_str());
  ImGui::Spacing();
  ImGui::TextWrapped("%s", text.message.c_str());
  ImGui::Spacing();
  ImGui::PushFont(desk.fonts.mono);
  for (const ProblemText::Line& line : text.lines) {
    const ImVec2 at = ImGui::GetCursorScreenPos();
    if (line.here) {
      const float right = at.x + ImGui::GetContentRegionAvail().x;
      ImGui::GetWindowDrawList()->AddRectFilled({at.x, at.y - 1}, {right, at.y + ImGui::GetTextLineHeight() + 2},
                                                palette::kChosenRow);
    }
    ImGui::TextUnformatted(fmt::format("{} {:>4}  {}", line.here ? ">" : " ", line.number, line.text).c_str());
    if (line.here && text.pos.column > 0) {
      ImGui::TextUnformatted((std::string(7 + static_cast<size_t>(text.pos.column), ' ') + "^").c_str());
    }
  }
  ImGui::PopFont();
  ImGui::EndChild();
  if (PlacedButton(desk, "Close##close problem", {desk.Units(110), 0})) {
    desk.session.DismissProblems();
    return;
  }
  ImGui::SameLine();
  if (PlacedButton(desk, "Copy the message##copy problem", {desk.Units(150), 0})) {
    ImGui::SetClipboardText((problem.doing + ": " + problem.message).c_str());
  }
  if (desk.session.problems().size() > 1) {
    ImGui::SameLine();
    ImGui::TextDisabled("and %zu before it", desk.session.problems().size() - 1);
  }
}

void DrawSaveDialog(Desk& desk) {
  Front& front = desk.front;
  const FilmedTake* shown = desk.session.filmed(front.params_slot);
  if (shown == nullptr || !shown->recipe) {
    front.dialog = Dialog::kNone;
    return;
  }
  const PolicyChoice wished = desk.session.WishedPolicy(front.params_slot);
  if (front.save_path.empty()) front.save_path = wished.name + ".policy";
  ImGui::TextWrapped("What differs from the defaults, as --policy takes it:");
  ImGui::PushFont(desk.fonts.mono);
  ImGui::TextWrapped("%s", PolicyLine(wished).c_str());
  ImGui::PopFont();
  ImGui::Spacing();
  ImGui::TextUnformatted("Into this file:");
  ImGui::SetNextItemWidth(-1);
  const bool entered = ImGui::InputText("##save path", &front.save_path, ImGuiInputTextFlags_EnterReturnsTrue);
  NotePlace(desk, "save path");
  ImGui::TextWrapped("%s", front.save_said.c_str());
  const float buttons = ImGui::GetFrameHeightWithSpacing() + desk.Units(4);
  ImGui::SetCursorPosY(std::max(ImGui::GetCursorPosY(), ImGui::GetWindowHeight() - buttons - desk.Units(8)));
  const bool replace = front.may_replace;
  if (PlacedButton(desk, replace ? "Replace it##do save" : "Save##do save", {desk.Units(110), 0}) || entered) {
    try {
      SavePolicyFile(front.save_path, wished, replace);
      front.save_failed = front.may_replace = false;
      front.save_said = "Saved. To film with them:\n" + CommandWithPolicyFile(shown->recipe->lesson, front.save_path);
      desk.front.note = "saved " + front.save_path;
    } catch (const InputError& error) {
      std::error_code unknown;
      front.may_replace = !front.save_path.empty() && std::filesystem::exists(front.save_path, unknown);
      front.save_said = error.what();
      front.save_failed = true;
    } catch (const RunError& error) {
      front.save_said = error.what();
      front.save_failed = true;
    }
  }
  ImGui::SameLine();
  if (PlacedButton(desk, "Copy the command##copy command", {desk.Units(150), 0})) {
    ImGui::SetClipboardText(CommandWithPolicyFile(shown->recipe->lesson, front.save_path).c_str());
  }
  ImGui::SameLine();
  if (PlacedButton(desk, "Close##close save", {desk.Units(110), 0})) front.dialog = Dialog::kNone;
}

}  // namespace dryrig
