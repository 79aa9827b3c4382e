// What to try next: the policy and its parameters, filming again, comparing, keeping what was found.
#include <fmt/format.h>

#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"

namespace dryrig {

namespace {

std::string UnitFor(const ParamInfo& info) {
  if (info.unit == "1" || info.unit.empty()) return "";
  return info.unit.starts_with("1/") ? " per " + info.unit.substr(2) : " " + info.unit;
}

void DrawPolicy(Desk& desk, int slot) {
  const PolicyChoice& wish = desk.session.slot(slot).wish;
  ImGui::SetNextItemWidth(RestOfLine());
  const bool open = ImGui::BeginCombo("##policy", wish.name.c_str());
  if (!open) Explain("Policy: " + std::string(FindPolicy(wish.name).meaning));
  NotePlace(desk, "policy");
  if (!open) return;
  for (const PolicyEntry& entry : Policies()) {
    const std::string label = fmt::format("{}{}", entry.name, entry.deployable ? "" : "  (knows the scoring key)");
    if (ImGui::Selectable(label.c_str(), entry.name == wish.name)) desk.session.SetPolicy(slot, std::string(entry.name));
    NotePlace(desk, fmt::format("policy {}", entry.name));
    Explain(std::string(entry.meaning));
  }
  ImGui::EndCombo();
}

/// A slider with its name, unit and range; a bar before the name where it is not at its default.
void DrawParam(Desk& desk, int slot, const ParamInfo& info) {
  const double now = desk.session.slot(slot).wish.values.at(info.name);
  const bool moved = now != info.value;
  ImGui::AlignTextToFramePadding();
  const ImVec2 at = ImGui::GetCursorScreenPos();
  if (moved) {
    ImGui::GetWindowDrawList()->AddRectFilled({at.x - desk.Units(1), at.y + desk.Units(3)},
                                              {at.x + desk.Units(2), at.y + desk.Units(18)}, palette::kInk);
  }
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + desk.Units(5));
  ImGui::PushFont(desk.fonts.small);
  ImGui::TextUnformatted(info.name.c_str());
  const std::string meaning =
      fmt::format("{}: {}\nfrom {} to {}{}, default {}\nControl and click to type a number; right-click for the default.",
                  info.name, info.meaning, Shown(info.lo), Shown(info.hi), UnitFor(info), Shown(info.value));
  Explain(meaning);
  ImGui::SameLine(desk.Units(100));
  ImGui::SetNextItemWidth(RestOfLine());
  double value = now;
  std::string format = Shown(now) + UnitFor(info);  // shown as it is; typed numbers are read by themselves
  for (size_t i = 0; (i = format.find('%', i)) != std::string::npos; i += 2) format.insert(i, 1, '%');
  if (ImGui::SliderScalar(("##" + info.name).c_str(), ImGuiDataType_Double, &value, &info.lo, &info.hi, format.c_str(),
                          ImGuiSliderFlags_AlwaysClamp | ImGuiSliderFlags_NoRoundToFormat)) {
    desk.session.SetParam(slot, info.name, value);
  }
  NotePlace(desk, "slider " + info.name);
  if (ImGui::IsItemClicked(ImGuiMouseButton_Right)) desk.session.SetParam(slot, info.name, info.value);
  Explain(meaning);
  ImGui::PopFont();
}

/// A list of policies that opens above the button; the one taken is filmed as B.
void DrawCompare(Desk& desk, float width) {
  if (PlacedButton(desk, "Compare with##compare", {width, 0})) ImGui::OpenPopup("compare with");
  Explain("Films the same performance with another policy and shows both in step");
  if (!ImGui::BeginPopup("compare with")) return;
  for (const PolicyEntry& entry : Policies()) {
    if (ImGui::Selectable(std::string(entry.name).c_str())) desk.session.Compare({std::string(entry.name), {}});
    NotePlace(desk, fmt::format("compare {}", entry.name));
    Explain(std::string(entry.meaning));
  }
  ImGui::EndPopup();
}

void DrawActions(Desk& desk, int slot) {
  const float half = std::floor(0.5f * (RestOfLine() - ImGui::GetStyle().ItemSpacing.x));
  const bool changed = desk.session.Changed(slot);
  if (changed) ImGui::PushFont(desk.fonts.bold);
  if (PlacedButton(desk, changed ? "Back to one, film again##back to one" : "Back to one##back to one",
                   {RestOfLine(), desk.Units(26)})) {
    desk.session.Rerun(slot);
  }
  if (changed) ImGui::PopFont();
  Explain(
      "Everything returns to its first position and is filmed again with the parameters as set (R). What is open stays until "
      "the new take is there.");
  DrawCompare(desk, half);
  ImGui::SameLine();
  if (PlacedButton(desk, "Keep as B##keep", {half, 0})) desk.session.KeepAsSecond();
  Explain("Keeps this take beside the next ones, to tune against (B)");
  if (PlacedButton(desk, "Save...##save", {half, 0})) desk.front.dialog = Dialog::kSave;
  Explain("Saves these parameters in a file that dryrig reads");
  ImGui::SameLine();
  if (PlacedButton(desk, "Defaults##defaults", {half, 0})) desk.session.ResetParams(slot);
  Explain("All parameters of this policy to their defaults");
}

}  // namespace

void DrawNext(Desk& desk) {
  const Panel panel(desk, "next", desk.layout.next);
  Heading(desk, "What to try next?");
  const FilmedTake* first = desk.session.filmed(kFirst);
  if (first == nullptr) {
    ImGui::TextWrapped("The parameters of the policy that films come here.");
    return;
  }
  SlotChoice(desk, "params", &desk.front.params_slot);
  const int slot = desk.front.params_slot;
  const FilmedTake& shown = *desk.session.filmed(slot);
  if (!shown.recipe) {
    ImGui::TextWrapped("This take cannot be filmed again: %s.", shown.why_not.c_str());
    return;
  }
  DrawPolicy(desk, slot);
  const float actions = desk.Units(26) + 2 * ImGui::GetFrameHeightWithSpacing() + 2 * ImGui::GetStyle().ItemSpacing.y;
  ImGui::PushStyleVar(ImGuiStyleVar_ItemSpacing, ImVec2(desk.Units(4), desk.Units(3)));
  ImGui::BeginChild("sliders", {0, ImGui::GetContentRegionAvail().y - actions}, false, ImGuiWindowFlags_NoNav);
  const std::vector<ParamInfo> params = FindPolicy(desk.session.slot(slot).wish.name).params();
  for (const ParamInfo& info : params) DrawParam(desk, slot, info);
  if (params.empty()) ImGui::TextWrapped("This policy has no parameters.");
  ImGui::EndChild();
  ImGui::PopStyleVar();
  DrawActions(desk, slot);
}

}  // namespace dryrig
