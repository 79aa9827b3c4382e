#include "bench/time_canvas.h"

#include <cmath>
#include <limits>

namespace dryrig {

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

void DrawSpan(TimeCanvas* canvas, double y, double start_s, double end_s, std::string_view label, std::string_view fill) {
  const double x = canvas->X(start_s);
  const double width = std::max(1.0, canvas->X(end_s) - x);
  canvas->Add(
      R"(<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.0f}" fill="{}" stroke="#444" stroke-width="0.6"><title>{}</title></rect>)",
      x, y, width, TimeLayout::kLane - 6, fill, Escaped(label));
  const auto letters = static_cast<size_t>(std::max(0.0, (width - 6) / 5.6));
  if (letters < 3) return;
  const std::string shown(label.size() > letters ? std::string(label.substr(0, letters - 1)) + "…" : std::string(label));
  canvas->Add(R"(<text x="{:.1f}" y="{:.1f}" font-size="10">{}</text>)", x + 3, y + 14, Escaped(shown));
}

void DrawPanel(TimeCanvas* canvas, double y, const TimePanel& panel, const Score& score, std::string_view unit) {
  const double inner = TimeLayout::kPanel - 8;
  const auto height = [&](double value) { return y + inner - inner * std::clamp(value / panel.top, 0.0, 1.0); };
  canvas->Add(R"(<rect x="{:.1f}" y="{:.1f}" width="{}" height="{:.0f}" fill="#fafafa" stroke="#bbb"/>)", TimeLayout::kLeft, y,
              canvas->columns(), inner);
  canvas->Label(y + 14, panel.title);
  canvas->Label(y + 30, fmt::format("{} {}", score.value ? fmt::format("{:.3g}", *score.value) : std::string("–"), unit));
  canvas->Label(y + inner, "0");
  canvas->Add(R"(<text x="{:.1f}" y="{:.1f}" font-size="10" fill="#555">{:g}</text>)", TimeLayout::kLeft + 4, y + 11, panel.top);
  canvas->Add(R"(<path d="M{:.1f} {:.1f}h{}" stroke="#777" stroke-dasharray="5 4"/>)", TimeLayout::kLeft, height(panel.line),
              canvas->columns());
  canvas->Add(R"(<text x="{:.1f}" y="{:.1f}" text-anchor="end" font-size="10" fill="#555">{}</text>)",
              TimeLayout::kWidth - TimeLayout::kRight - 4, height(panel.line) - 3, Escaped(panel.line_label));
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
    fmt::format_to(std::back_inserter(path), "{}{:.1f} {:.1f}", drawing ? "L" : "M", TimeLayout::kLeft + c, height(least));
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

void DrawTimeAxis(TimeCanvas* canvas, double y) {
  const double step_s = canvas->duration_s() > 60 ? 10 : canvas->duration_s() > 12 ? 5 : 1;
  for (double t_s = 0; t_s <= canvas->duration_s(); t_s += step_s) {
    canvas->Add(
        R"(<path d="M{0:.1f} {1:.1f}v5" stroke="#444"/><text x="{0:.1f}" y="{2:.1f}" text-anchor="middle">{3:g} s</text>)",
        canvas->X(t_s), y, y + 18, t_s);
  }
}

}  // namespace dryrig
