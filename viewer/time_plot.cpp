#include <fmt/format.h>

#include <algorithm>

#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"
#include "viewer/time_line.h"

namespace dryrig {

namespace {

std::string UnitOf(std::string_view name) {
  for (const Metric& metric : Metrics()) {
    if (metric.name == name)
      return metric.unit.empty() ? (metric.meaning.starts_with("share") ? "share" : "") : std::string(metric.unit);
  }
  return "";
}

/// The series as a line: whole for the first take, dashed for the second; a bar where a column holds a range.
void DrawSeries(const Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& box, const PlotRange& axis,
                const Series& series, int slot) {
  const int columns = std::max(1, static_cast<int>(view.w));
  const auto drawn = PlotColumns(series, view.from_s, view.to_s, columns);
  const auto y = [&](double value) { return box.bottom() - box.h * static_cast<float>((value - axis.lo) / (axis.hi - axis.lo)); };
  const float dash = desk.Units(4);
  const float thick = (slot == kFirst ? 1.5f : 2.f) * desk.scale;
  const ImU32 colour = palette::kTake[static_cast<size_t>(slot)];
  // Columns that cover the same pixels become one bar: a flat stretch is one rectangle.
  Rect bar;
  const auto add = [&](const Rect& next) {
    if (next.x == bar.right() && next.y == bar.y && next.h == bar.h) {
      bar.w += next.w;
      return;
    }
    if (bar.w > 0) draw->AddRectFilled(TopLeft(bar), BottomRight(bar), colour);
    bar = next;
  };
  for (int c = 0; c < columns; ++c) {
    const PlotColumn& now = drawn[static_cast<size_t>(c)];
    if (now.empty) continue;
    if (slot == kSecond && static_cast<int>(static_cast<float>(c) / dash) % 2 == 1) continue;
    float top = y(now.hi), bottom = y(now.lo);
    if (c > 0 && !drawn[static_cast<size_t>(c) - 1].empty) {  // joined to the column before
      const PlotColumn& before = drawn[static_cast<size_t>(c) - 1];
      top = std::min(top, y(before.lo));
      bottom = std::max(bottom, y(before.hi));
    }
    const float from = std::round(top - 0.5f * thick), to = std::max(std::round(bottom + 0.5f * thick), from + std::round(thick));
    add({view.x + static_cast<float>(c), from, 1, to - from});
  }
  add({});
}

/// A triangle below the axis that jumps there when pressed; the second take's is hollow.
void DrawWorst(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& box, const std::string& metric, const Score& score,
               int slot) {
  if (!score.worst_t_s || *score.worst_t_s < view.from_s || *score.worst_t_s > view.to_s) return;
  const float x = view.X(*score.worst_t_s), size = desk.Units(9);
  const ImU32 colour = palette::kTake[static_cast<size_t>(slot)];
  const ImVec2 tip{x, box.bottom() - size};
  Pointer(draw, {tip.x, tip.y - 2}, size + 3, false, palette::kPaper);
  Pointer(draw, tip, size, false, colour);
  if (slot == kSecond) Pointer(draw, {tip.x, tip.y + 0.35f * size}, 0.5f * size, false, palette::kPaper);
  const Rect around{x - size, box.bottom() - 1.5f * size, 2 * size, 1.8f * size};
  desk.places.Put(fmt::format("worst {} {}", metric, LetterOf(slot)), around);
  const ImVec2 mouse = ImGui::GetIO().MousePos;
  if (!ImGui::IsItemHovered() || !around.Contains(mouse.x, mouse.y)) return;
  Explain(fmt::format("{}: worst of {} at {} s\n{}\nClick: go there", LetterOf(slot), metric, ShownTime(*score.worst_t_s),
                      score.worst_what));
  if (ImGui::IsMouseReleased(ImGuiMouseButton_Left)) desk.JumpTo(*score.worst_t_s);
}

}  // namespace

void DrawPlot(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane, const std::string& metric) {
  const Rect box{lane.x, lane.y + desk.Units(2), lane.w, lane.h - desk.Units(5)};
  draw->AddRectFilled(TopLeft(box), BottomRight(box), palette::kWhite);
  draw->AddRect(TopLeft(box), BottomRight(box), palette::kLine);
  desk.places.Put("plot " + metric, box);
  std::array<const Score*, 2> scores{};
  std::optional<PlotRange> range;
  for (const int slot : {kFirst, kSecond}) {
    const FilmedTake* filmed = desk.session.filmed(slot);
    const Score* score = filmed != nullptr ? FindScore(filmed->card, metric) : nullptr;
    if (score == nullptr) continue;
    const auto own = RangeOf(score->series);
    if (!own) continue;
    scores[static_cast<size_t>(slot)] = score;
    range = range ? PlotRange{std::min(range->lo, own->lo), std::max(range->hi, own->hi)} : *own;
  }
  // Name, unit and the value under the cursor, in the gutter.
  const float right = lane.x - desk.Units(8), line = ImGui::GetTextLineHeight();
  const auto gutter = [&](int row, const std::string& text, ImU32 colour) {
    const std::string shown = Shortened(text, desk.Units(96));
    draw->AddText({right - ImGui::CalcTextSize(shown.c_str()).x, box.y + static_cast<float>(row) * line}, colour, shown.c_str());
  };
  gutter(0, metric, palette::kInk);
  if (!range) {
    const bool coming = desk.session.filmed(kFirst)->preview();
    TextIn(draw, box, coming ? "comes with the whole take" : "nothing to plot in this take", palette::kFaintInk);
    return;
  }
  const std::string unit = UnitOf(metric);
  const double t_s = desk.session.transport.t_s;
  for (const int slot : {kFirst, kSecond}) {
    const Score* score = scores[static_cast<size_t>(slot)];
    if (score == nullptr) continue;
    const auto value = ValueAt(score->series, t_s);
    const std::string shown = value ? Shown(*value) : "-";
    const bool two = scores[kSecond] != nullptr;
    gutter(1 + slot, two ? fmt::format("{} {}", LetterOf(slot), shown) : fmt::format("{} {}", shown, unit),
           palette::kTake[static_cast<size_t>(slot)]);
  }
  const PlotRange axis = AxisFor(*range);
  draw->PushClipRect(TopLeft(box), BottomRight(box), true);
  if (axis.lo < 0 && axis.hi > 0) {
    const float zero = box.bottom() + box.h * static_cast<float>(axis.lo / (axis.hi - axis.lo));
    DashedLine(draw, {box.x, zero}, {box.right(), zero}, palette::kLine, 1, desk.Units(3));
  }
  for (const int slot : {kSecond, kFirst}) {
    if (scores[static_cast<size_t>(slot)] != nullptr)
      DrawSeries(desk, draw, view, box, axis, scores[static_cast<size_t>(slot)]->series, slot);
  }
  draw->PopClipRect();
  // The lower one gives way to a marker of the worst moment.
  const auto corner = [&](const std::string& text, float y, bool low) {
    const ImVec2 size = ImGui::CalcTextSize(text.c_str());
    ImVec2 at{box.right() - size.x - desk.Units(4), y};
    for (const Score* score : scores) {
      if (!low || score == nullptr || !score->worst_t_s) continue;
      const float x = view.X(*score->worst_t_s), beside = desk.Units(12);
      if (x > at.x - beside && x < box.right() + beside) at.x = std::min(at.x, x - beside - size.x);
    }
    draw->AddRectFilled({at.x - 2, at.y}, {at.x + size.x + 2, at.y + size.y}, IM_COL32(255, 255, 255, 190));
    draw->AddText(at, palette::kFaintInk, text.c_str());
  };
  corner(fmt::format("greatest {} {}", Shown(range->hi), unit), box.y + 1, false);
  corner(fmt::format("least {}", Shown(range->lo)), box.bottom() - line - 1, true);
  for (const int slot : {kFirst, kSecond}) {
    if (scores[static_cast<size_t>(slot)] != nullptr)
      DrawWorst(desk, draw, view, box, metric, *scores[static_cast<size_t>(slot)], slot);
  }
}

}  // namespace dryrig
