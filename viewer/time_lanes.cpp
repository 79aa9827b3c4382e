#include <fmt/format.h>

#include <algorithm>

#include "viewer/controls.h"
#include "viewer/paint.h"
#include "viewer/palette.h"
#include "viewer/plot.h"
#include "viewer/time_line.h"

namespace dryrig {

namespace {

void NameLane(Desk& desk, ImDrawList* draw, const Rect& lane, const std::string& name) {
  const std::string shown = Shortened(name, desk.Units(94));
  const float width = ImGui::CalcTextSize(shown.c_str()).x;
  draw->AddText({lane.x - width - desk.Units(8), lane.y + std::floor(0.5f * (lane.h - ImGui::GetFontSize()))}, palette::kFaintInk,
                shown.c_str());
  desk.places.Put("lane " + name, lane);
}

Rect SpanRect(const Desk& desk, const TimeView& view, const Rect& lane, double start_s, double end_s) {
  const float a = std::clamp(view.X(start_s), view.x, view.x + view.w), b = std::clamp(view.X(end_s), view.x, view.x + view.w);
  return {a, lane.y + 1, std::max(0.f, b - a), lane.h - desk.Units(3)};
}

/// A box with its words; they are told in full when the mouse rests on it. False: out of view.
bool DrawSpan(const Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane, double start_s, double end_s,
              ImU32 fill, const std::string& text, const std::string& told) {
  if (end_s <= view.from_s || start_s >= view.to_s) return false;
  const Rect box = SpanRect(desk, view, lane, start_s, end_s);
  draw->AddRectFilled(TopLeft(box), BottomRight(box), fill);
  draw->AddRect(TopLeft(box), BottomRight(box), palette::kLine);
  TextIn(draw, box, text, palette::kInk);
  if (ImGui::IsItemHovered() && box.Contains(ImGui::GetIO().MousePos.x, ImGui::GetIO().MousePos.y)) {
    Explain(fmt::format("{}\n{} to {} s", told, ShownTime(start_s), ShownTime(end_s)));
  }
  return true;
}

ImU32 FillOf(const Shot& shot) {
  return palette::kSubject[static_cast<size_t>(shot.subjects.front().kind)];
}

const Take& FirstTake(const Desk& desk) {
  return desk.Filmed(kFirst)->take;
}

}  // namespace

void DrawBeats(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane) {
  NameLane(desk, draw, lane, "beats");
  bool even = false;
  for (const TimedBeat& beat : FirstTake(desk).beats) {
    even = !even;
    DrawSpan(desk, draw, view, lane, beat.start_s, beat.end_s, even ? IM_COL32(238, 237, 233, 255) : palette::kWhite, beat.label,
             beat.label);
  }
}

void DrawSpeech(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane) {
  NameLane(desk, draw, lane, "said and heard");
  const FilmedTake& filmed = *desk.Filmed(kFirst);
  for (const Sentence& said : filmed.take.sentences) {
    std::string told = "said: \"" + said.text + "\"";
    for (const HeardSentence& heard : filmed.heard) {
      if (std::abs(heard.end_s - said.end_s) > 1e-6) continue;
      told += heard.text == said.text ? fmt::format("\nheard so at {} s", ShownTime(heard.heard_s))
                                      : fmt::format("\nheard at {} s: \"{}\"", ShownTime(heard.heard_s), heard.text);
    }
    if (filmed.heard.empty()) told += "\nwhat was heard is not known for this take";
    DrawSpan(desk, draw, view, lane, said.start_s, said.end_s, palette::kWhite, said.text, told);
  }
  // A tick where the policy had it; on a flag where words were lost or replaced.
  for (const HeardSentence& heard : filmed.heard) {
    if (heard.heard_s < view.from_s || heard.heard_s > view.to_s) continue;
    const float x = std::round(view.X(heard.heard_s));
    const auto said = std::find_if(filmed.take.sentences.begin(), filmed.take.sentences.end(),
                                   [&](const Sentence& s) { return std::abs(s.end_s - heard.end_s) < 1e-6; });
    draw->AddLine({x, lane.y + 1}, {x, lane.bottom() - desk.Units(2)}, palette::kInk, 2);
    if (said != filmed.take.sentences.end() && said->text != heard.text) {
      draw->AddTriangleFilled({x, lane.y + 1}, {x + desk.Units(7), lane.y + desk.Units(4)}, {x, lane.y + desk.Units(8)},
                              palette::kInk);
    }
  }
}

void DrawAsked(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane) {
  NameLane(desk, draw, lane, "asked");
  for (const TimedIntent& intent : FirstTake(desk).intents) {
    const std::string name = ShortName(intent.shot);
    DrawSpan(desk, draw, view, lane, intent.start_s, intent.end_s, FillOf(intent.shot), name, "asked: " + name);
  }
}

void DrawChosen(Desk& desk, ImDrawList* draw, const TimeView& view, const Rect& lane, int slot) {
  NameLane(desk, draw, lane, desk.session.comparing() ? fmt::format("{} chose", LetterOf(slot)) : "chosen");
  for (const ChosenRun& run : desk.Filmed(slot)->chosen) {
    const std::string name = ShortName(run.shot);
    const char* against = run.match == Match::kOtherSubject ? "\nanother subject than asked"
                          : run.match == Match::kOtherView  ? "\nanother size or angle than asked"
                          : run.match == Match::kSame       ? "\nas asked"
                                                            : "\nnothing was asked";
    const bool wrong = run.match == Match::kOtherSubject;
    if (!DrawSpan(desk, draw, view, lane, run.start_s, run.end_s, FillOf(run.shot), wrong ? "" : name,
                  "chosen: " + name + against))
      continue;
    const Rect box = SpanRect(desk, view, lane, run.start_s, run.end_s);
    if (wrong) {
      Hatch(draw, box, palette::kVermilion, desk.Units(6), 1.6f * desk.scale);
      draw->AddRect(TopLeft(box), BottomRight(box), palette::kVermilion, 0, 0, 2 * desk.scale);
      const std::string shown = Shortened(name, box.w - desk.Units(12));
      if (!shown.empty()) {
        const float width = ImGui::CalcTextSize(shown.c_str()).x, y = box.y + std::floor(0.5f * (box.h - ImGui::GetFontSize()));
        draw->AddRectFilled({box.x + desk.Units(3), box.y + 2}, {box.x + desk.Units(7) + width, box.bottom() - 2},
                            palette::kPaper);
        draw->AddText({box.x + desk.Units(5), y}, palette::kInk, shown.c_str());
      }
    } else if (run.match == Match::kOtherView) {
      DashedLine(draw, {box.x, box.bottom() - 1}, {box.right(), box.bottom() - 1}, palette::kInk, 2, desk.Units(4));
    }
  }
}

}  // namespace dryrig
