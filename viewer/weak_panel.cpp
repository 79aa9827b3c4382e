// The scorecard, as the question where a take is weak: a click plots a metric and goes to its worst moment.
#include <fmt/format.h>

#include <algorithm>

#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"

namespace dryrig {

namespace {

constexpr std::array<std::string_view, 5> kCard{"hand_visibility", "framing_error", "jerk", "occlusion", "closest_approach"};

bool OnCard(std::string_view metric) {
  return std::find(kCard.begin(), kCard.end(), metric) != kCard.end();
}
bool IsPlotted(const Desk& desk, std::string_view metric) {
  const auto& plotted = desk.settings.plotted;
  return std::find(plotted.begin(), plotted.end(), metric) != plotted.end();
}
std::string UnitOf(const Metric& metric) {
  if (!metric.unit.empty()) return std::string(metric.unit);
  return metric.meaning.starts_with("share") ? "share" : "";
}

/// The slot whose value is better; none where they are equal or nobody can say.
std::optional<int> BetterSlot(const Metric& metric, const Score* a, const Score* b) {
  if (a == nullptr || b == nullptr || !a->value || !b->value || *a->value == *b->value || metric.direction == Direction::kNeither)
    return std::nullopt;
  const bool up = metric.direction == Direction::kUp;
  return (*a->value > *b->value) == up ? kFirst : kSecond;
}

std::string Meaning(const Metric& metric, const Score& score) {
  std::string out = fmt::format("{}\n{}", metric.name, metric.meaning);
  out += metric.direction == Direction::kUp     ? "\nHigher is better."
         : metric.direction == Direction::kDown ? "\nLower is better."
                                                : "";
  if (score.worst_t_s) {
    out +=
        fmt::format("\nWorst at {} s{}{}", ShownTime(*score.worst_t_s), score.worst_what.empty() ? "" : ": ", score.worst_what);
  }
  if (!score.value) out += "\nThere was nothing to measure.";
  return out + (score.series.values.empty() ? "" : "\nClick: plot it and go to the worst moment; again: take it off.");
}

void RightAligned(const std::string& text) {
  const float width = ImGui::CalcTextSize(text.c_str()).x;
  ImGui::SetCursorPosX(ImGui::GetCursorPosX() + std::max(0.f, ImGui::GetContentRegionAvail().x - width));
  ImGui::TextUnformatted(text.c_str());
}

/// A triangle that points where better lies.
void DirectionMark(const Desk& desk, Direction direction) {
  if (direction == Direction::kNeither) return;
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const float size = desk.Units(7), middle = at.y + 0.5f * ImGui::GetTextLineHeight();
  const bool down = direction == Direction::kDown;
  Pointer(ImGui::GetWindowDrawList(), {at.x + 0.6f * size, middle + (down ? 0.5f : -0.5f) * size}, size, down,
          palette::kFaintInk);
}

void DrawRow(Desk& desk, const Metric& metric, const Score& first, const Score* second) {
  const std::string name(metric.name);
  ImGui::TableNextRow();
  ImGui::TableNextColumn();
  const bool plotted = IsPlotted(desk, name);
  const bool can_plot = !first.series.values.empty();
  if (plotted) ImGui::TableSetBgColor(ImGuiTableBgTarget_RowBg0, palette::kChosenRow);
  const ImVec2 at = ImGui::GetCursorScreenPos();
  const float width = ImGui::GetContentRegionAvail().x;
  if (ImGui::Selectable(("##" + name).c_str(), false, ImGuiSelectableFlags_SpanAllColumns) && can_plot) {
    TogglePlot(desk, name);
    if (!plotted) JumpToWorst(desk, name);
  }
  NotePlace(desk, "metric " + name);
  Explain(Meaning(metric, first));
  ImGui::PushFont(OnCard(name) ? desk.fonts.bold : desk.fonts.small);
  const float indent = plotted ? desk.Units(10) : 0;
  ImGui::GetWindowDrawList()->AddText({at.x + indent, at.y}, can_plot ? palette::kInk : palette::kFaintInk,
                                      Shortened(name, width - indent).c_str());
  ImGui::PopFont();
  if (plotted) {
    const float y = at.y + 0.5f * ImGui::GetTextLineHeight();
    ImGui::GetWindowDrawList()->AddRectFilled({at.x, y - desk.Units(3)}, {at.x + desk.Units(6), y + desk.Units(3)},
                                              palette::kInk);
  }
  const auto better = BetterSlot(metric, &first, second);
  for (const Score* score : {&first, second}) {
    if (score == nullptr) continue;
    ImGui::TableNextColumn();
    const bool best = better && (score == &first) == (*better == kFirst);
    if (best) ImGui::PushFont(desk.fonts.bold);
    RightAligned(score->value ? Shown(*score->value) : "-");
    if (best) {
      const ImVec2 a = ImGui::GetItemRectMin(), b = ImGui::GetItemRectMax();
      ImGui::GetWindowDrawList()->AddLine({a.x, b.y}, {b.x, b.y}, palette::kInk, 1);
      ImGui::PopFont();
    }
  }
  ImGui::TableNextColumn();
  DirectionMark(desk, metric.direction);
  ImGui::TableNextColumn();
  ImGui::PushFont(desk.fonts.small);
  ImGui::TextDisabled("%s", Shortened(UnitOf(metric), ImGui::GetContentRegionAvail().x).c_str());
  ImGui::PopFont();
}

}  // namespace

void TogglePlot(Desk& desk, std::string_view metric) {
  auto& plotted = desk.settings.plotted;
  const auto at = std::find(plotted.begin(), plotted.end(), metric);
  if (at != plotted.end()) {
    plotted.erase(at);
    return;
  }
  constexpr size_t kMost = 4;
  plotted.insert(plotted.begin(), std::string(metric));
  if (plotted.size() > kMost) plotted.resize(kMost);
}

void JumpToWorst(Desk& desk, std::string_view metric) {
  const FilmedTake* first = desk.session.filmed(kFirst);
  const Score* score = first == nullptr ? nullptr : FindScore(first->card, metric);
  if (score != nullptr && score->worst_t_s) desk.JumpTo(*score->worst_t_s);
}

void DrawWeak(Desk& desk) {
  const Panel panel(desk, "weak", desk.layout.weak);
  Heading(desk, "Where is it weak?");
  const FilmedTake* first = desk.session.filmed(kFirst);
  const FilmedTake* second = desk.session.filmed(kSecond);
  if (first == nullptr) {
    ImGui::TextWrapped("Open a lesson: it is filmed at once, and its scorecard stands here.");
    return;
  }
  if (first->preview()) {
    ImGui::TextWrapped("%s", desk.session.job(kFirst) ? "Being filmed; the numbers come with the whole take."
                                                      : "Only its first moments were filmed. Back to one (R) films all of it.");
    return;
  }
  const bool two = second != nullptr && !second->preview();
  constexpr ImGuiTableFlags kFlags = ImGuiTableFlags_ScrollY | ImGuiTableFlags_BordersInnerH | ImGuiTableFlags_NoPadOuterX;
  if (!ImGui::BeginTable("metrics", two ? 5 : 4, kFlags, ImGui::GetContentRegionAvail())) return;
  ImGui::TableSetupScrollFreeze(0, 1);
  ImGui::TableSetupColumn("metric", ImGuiTableColumnFlags_WidthStretch);
  ImGui::TableSetupColumn("A", ImGuiTableColumnFlags_WidthFixed, desk.Units(56));
  if (two) ImGui::TableSetupColumn("B", ImGuiTableColumnFlags_WidthFixed, desk.Units(56));
  ImGui::TableSetupColumn("better", ImGuiTableColumnFlags_WidthFixed, desk.Units(10));
  ImGui::TableSetupColumn("unit", ImGuiTableColumnFlags_WidthFixed, desk.Units(desk.layout.weak.w < desk.Units(310) ? 44 : 84));
  ImGui::TableNextRow();
  ImGui::PushFont(desk.fonts.small);
  ImGui::TableNextColumn();
  ImGui::TextDisabled("metric");
  for (int slot = kFirst; slot <= (two ? kSecond : kFirst); ++slot) {
    ImGui::TableNextColumn();
    RightAligned(two ? LetterOf(slot) : "value");
  }
  ImGui::TableNextColumn();
  ImGui::TableNextColumn();
  ImGui::TextDisabled("unit");
  ImGui::PopFont();
  const auto metrics = Metrics();
  for (const bool card : {true, false}) {
    for (size_t i = 0; i < metrics.size(); ++i) {
      if (OnCard(metrics[i].name) == card)
        DrawRow(desk, metrics[i], first->card.scores[i], two ? &second->card.scores[i] : nullptr);
    }
  }
  ImGui::EndTable();
}

}  // namespace dryrig
