#include "bench/timeline.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "bench/time_canvas.h"

namespace dryrig {

namespace {

constexpr double kTop = TimeLayout::kTop, kLane = TimeLayout::kLane, kPanel = TimeLayout::kPanel, kGap = TimeLayout::kGap;

std::string ShortName(const Shot& shot) {
  std::string subjects;
  for (const Subject& subject : shot.subjects) {
    subjects += (subjects.empty() ? "" : "+") + (subject.kind == SubjectKind::kProp ? subject.prop : ToString(subject));
  }
  return fmt::format("{}, {}, {}", subjects, ToString(shot.size), ToString(shot.angle));
}

std::string_view FillOf(const Shot& shot) {
  switch (shot.subjects.front().kind) {
    case SubjectKind::kFace:
      return "#f3e2b3";
    case SubjectKind::kHands:
      return "#cfe3f2";
    case SubjectKind::kProp:
    case SubjectKind::kTip:
      return "#e5d4ec";
    case SubjectKind::kBench:
      break;
  }
  return "#e4e4e4";
}

/// The chosen shots, a box a run of equal ones, hatched below where the subjects differ from the intent's.
void ChosenLane(TimeCanvas* canvas, double y, const Take& take) {
  const auto time = [&](size_t frame) { return static_cast<double>(frame) / take.id.frame_hz; };
  const auto differs = [&](size_t frame) {
    for (const TimedIntent& intent : take.intents) {
      if (time(frame) >= intent.start_s && time(frame) < intent.end_s)
        return take.frames[frame].chosen.subjects != intent.shot.subjects;
    }
    return false;
  };
  for (size_t i = 0; i < take.frames.size();) {
    size_t j = i;
    while (j < take.frames.size() && take.frames[j].chosen == take.frames[i].chosen) ++j;
    DrawSpan(canvas, y, time(i), time(j), ShortName(take.frames[i].chosen), FillOf(take.frames[i].chosen));
    i = j;
  }
  for (size_t i = 0; i < take.frames.size();) {
    size_t j = i;
    while (j < take.frames.size() && differs(j) == differs(i)) ++j;
    if (differs(i)) {
      canvas->Add(
          R"svg(<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="6" fill="url(#other)"><title>another subject</title></rect>)svg",
          canvas->X(time(i)), y + kLane - 6, std::max(1.0, canvas->X(time(j)) - canvas->X(time(i))));
    }
    i = j;
  }
}

}  // namespace

std::string TimelineSvg(const Take& take, const Scorecard& scorecard) {
  TimeCanvas canvas(take.duration_s);
  canvas.Add(R"(<text x="14" y="24" font-size="16">{}</text>)",
             Escaped(fmt::format("{}: policy {} on arm {}, {} at the {}", take.id.lesson, take.id.policy, take.id.arm,
                                 take.id.person, take.id.bench)));
  canvas.Add(R"(<text x="14" y="44" fill="#555">{}</text>)",
             Escaped(fmt::format(
                 "sensing {}, seed {}. ▲ marks a worst moment, hatching a shot of another subject than asked. A simulation is no "
                 "risk assessment.",
                 take.id.sensing, take.id.seed)));
  double y = kTop;
  canvas.Label(y + 14, "asked");
  for (const TimedIntent& intent : take.intents)
    DrawSpan(&canvas, y, intent.start_s, intent.end_s, ShortName(intent.shot), FillOf(intent.shot));
  y += kLane;
  canvas.Label(y + 14, "chosen");
  ChosenLane(&canvas, y, take);
  y += kLane + kGap;

  constexpr std::array kPanels{
      TimePanel{"framing_error", "framing error", 4, 1, "acceptable below"},
      TimePanel{"hand_visibility", "hands visible", 1, 0.5, "blind below"},
      TimePanel{"closest_approach", "distance to person", 1, 0.25, "0.25 m"},
  };
  const auto metrics = Metrics();
  for (const TimePanel& panel : kPanels) {
    for (size_t i = 0; i < metrics.size() && i < scorecard.scores.size(); ++i) {
      if (metrics[i].name != panel.metric) continue;
      DrawPanel(&canvas, y, panel, scorecard.scores[i], metrics[i].unit);
    }
    y += kPanel + kGap;
  }
  DrawTimeAxis(&canvas, y - kGap);
  return canvas.Close(y + 16);
}

}  // namespace dryrig
