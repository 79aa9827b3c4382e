#include "bench/timeline.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <limits>
#include <vector>

namespace dryrig {

namespace {

constexpr double kWidth = 1080, kLeft = 150, kRight = 20, kTop = 64, kLane = 26, kPanel = 92, kGap = 18;

std::string Escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += c;
    }
  }
  return out;
}

class Canvas {
 public:
  explicit Canvas(double duration_s) : duration_s_(std::max(duration_s, 1e-3)) {}

  double X(double t_s) const { return kLeft + (kWidth - kLeft - kRight) * std::clamp(t_s / duration_s_, 0.0, 1.0); }
  int columns() const { return static_cast<int>(kWidth - kLeft - kRight); }
  double duration_s() const { return duration_s_; }

  template <class... Args>
  void Add(fmt::format_string<Args...> format, Args&&... args) {
    fmt::format_to(std::back_inserter(out_), format, std::forward<Args>(args)...);
    out_ += '\n';
  }
  void Label(double y, std::string_view text) {
    Add(R"(<text x="{:.1f}" y="{:.1f}" text-anchor="end">{}</text>)", kLeft - 10, y, Escaped(text));
  }
  std::string Close(double height) const {
    constexpr std::string_view kHead =
        R"svg(<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0:.0f} {1:.0f}" font-family="sans-serif" font-size="12">
<defs><pattern id="other" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<path d="M0 0V7" stroke="#222" stroke-width="2.4"/></pattern></defs>
<rect width="{0:.0f}" height="{1:.0f}" fill="#fff"/>
)svg";
    return fmt::format(kHead, kWidth, height) + out_ + "</svg>\n";
  }

 private:
  double duration_s_;
  std::string out_;
};

/// A box of the time line with as much of its label as fits.
void Span(Canvas* canvas, double y, double start_s, double end_s, std::string_view label, std::string_view fill) {
  const double x = canvas->X(start_s);
  const double width = std::max(1.0, canvas->X(end_s) - x);
  canvas->Add(
      R"(<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.0f}" fill="{}" stroke="#444" stroke-width="0.6"><title>{}</title></rect>)",
      x, y, width, kLane - 6, fill, Escaped(label));
  const auto letters = static_cast<size_t>(std::max(0.0, (width - 6) / 5.6));
  if (letters < 3) return;
  const std::string shown(label.size() > letters ? std::string(label.substr(0, letters - 1)) + "…" : std::string(label));
  canvas->Add(R"(<text x="{:.1f}" y="{:.1f}" font-size="10">{}</text>)", x + 3, y + 14, Escaped(shown));
}

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
void ChosenLane(Canvas* canvas, double y, const Take& take) {
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
    Span(canvas, y, time(i), time(j), ShortName(take.frames[i].chosen), FillOf(take.frames[i].chosen));
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

struct Panel {
  std::string_view metric;
  std::string_view title;
  double top;   // value at the panel's top
  double line;  // a value worth a dashed line
  std::string_view line_label;
};

void DrawPanel(Canvas* canvas, double y, const Panel& panel, const Score& score, std::string_view unit) {
  const double inner = kPanel - 8;
  const auto height = [&](double value) { return y + inner - inner * std::clamp(value / panel.top, 0.0, 1.0); };
  canvas->Add(R"(<rect x="{:.1f}" y="{:.1f}" width="{}" height="{:.0f}" fill="#fafafa" stroke="#bbb"/>)", kLeft, y,
              canvas->columns(), inner);
  canvas->Label(y + 14, panel.title);
  canvas->Label(y + 30, fmt::format("{} {}", score.value ? fmt::format("{:.3g}", *score.value) : std::string("–"), unit));
  canvas->Label(y + inner, "0");
  canvas->Add(R"(<text x="{:.1f}" y="{:.1f}" font-size="10" fill="#555">{:g}</text>)", kLeft + 4, y + 11, panel.top);
  canvas->Add(R"(<path d="M{:.1f} {:.1f}h{}" stroke="#777" stroke-dasharray="5 4"/>)", kLeft, height(panel.line),
              canvas->columns());
  canvas->Add(R"(<text x="{:.1f}" y="{:.1f}" text-anchor="end" font-size="10" fill="#555">{}</text>)", kWidth - kRight - 4,
              height(panel.line) - 3, Escaped(panel.line_label));
  if (score.series.values.empty() || score.series.rate_hz <= 0) return;

  // A column of the picture covers many samples: draw the range that they span.
  std::string path;
  bool drawing = false;
  const int columns = canvas->columns();
  for (int c = 0; c < columns; ++c) {
    const auto sample = [&](int column) {
      return static_cast<size_t>(canvas->duration_s() * column / columns * score.series.rate_hz);
    };
    double least = std::numeric_limits<double>::infinity();
    double most = -least;
    const size_t end = std::min(std::max(sample(c + 1), sample(c) + 1), score.series.values.size());
    for (size_t i = sample(c); i < end; ++i) {
      if (std::isnan(score.series.values[i])) continue;
      least = std::min(least, score.series.values[i]);
      most = std::max(most, score.series.values[i]);
    }
    if (least > most) {
      drawing = false;
      continue;
    }
    fmt::format_to(std::back_inserter(path), "{}{:.1f} {:.1f}", drawing ? "L" : "M", kLeft + c, height(least));
    if (most > least) fmt::format_to(std::back_inserter(path), "V{:.1f}", height(most));
    drawing = true;
  }
  canvas->Add(R"(<path d="{}" fill="none" stroke="#1d5b8c" stroke-width="1.2"/>)", path);
  if (score.worst_t_s) {
    const double x = canvas->X(*score.worst_t_s);
    canvas->Add(R"(<path d="M{:.1f} {:.1f}l-5 -8h10z" fill="#222"><title>worst at {:.2f} s: {}</title></path>)", x, y + inner + 8,
                *score.worst_t_s, Escaped(score.worst_what));
  }
}

void TimeAxis(Canvas* canvas, double y) {
  const double step_s = canvas->duration_s() > 60 ? 10 : canvas->duration_s() > 12 ? 5 : 1;
  for (double t_s = 0; t_s <= canvas->duration_s(); t_s += step_s) {
    canvas->Add(
        R"(<path d="M{0:.1f} {1:.1f}v5" stroke="#444"/><text x="{0:.1f}" y="{2:.1f}" text-anchor="middle">{3:g} s</text>)",
        canvas->X(t_s), y, y + 18, t_s);
  }
}

}  // namespace

std::string TimelineSvg(const Take& take, const Scorecard& scorecard) {
  Canvas canvas(take.duration_s);
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
    Span(&canvas, y, intent.start_s, intent.end_s, ShortName(intent.shot), FillOf(intent.shot));
  y += kLane;
  canvas.Label(y + 14, "chosen");
  ChosenLane(&canvas, y, take);
  y += kLane + kGap;

  constexpr std::array kPanels{
      Panel{"framing_error", "framing error", 4, 1, "acceptable below"},
      Panel{"hand_visibility", "hands visible", 1, 0.5, "blind below"},
      Panel{"closest_approach", "distance to person", 1, 0.25, "0.25 m"},
  };
  const auto metrics = Metrics();
  for (const Panel& panel : kPanels) {
    for (size_t i = 0; i < metrics.size() && i < scorecard.scores.size(); ++i) {
      if (metrics[i].name != panel.metric) continue;
      DrawPanel(&canvas, y, panel, scorecard.scores[i], metrics[i].unit);
    }
    y += kPanel + kGap;
  }
  TimeAxis(&canvas, y - kGap);
  return canvas.Close(y + 16);
}

}  // namespace dryrig
