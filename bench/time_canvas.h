#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <string>
#include <string_view>

#include "metrics/metric.h"

namespace dryrig {

/// Measures of a picture over a time line, in its units.
struct TimeLayout {
  static constexpr double kWidth = 1080, kLeft = 150, kRight = 20, kTop = 64, kLane = 26, kPanel = 92, kGap = 18;
};

/// A text as SVG holds it.
std::string Escaped(std::string_view text);

/// A picture (SVG) over a time line that is written from the top down.
class TimeCanvas : private TimeLayout {
 public:
  explicit TimeCanvas(double duration_s) : duration_s_(std::max(duration_s, 1e-3)) {}

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
void DrawSpan(TimeCanvas* canvas, double y, double start_s, double end_s, std::string_view label, std::string_view fill);

/// How a series is drawn.
struct TimePanel {
  std::string_view metric;  // what it shows, for those that look it up
  std::string_view title;
  double top;   // value at the panel's top
  double line;  // a value worth a dashed line
  std::string_view line_label;
};

/// A score's series with its worst moment marked, TimeLayout::kPanel high.
void DrawPanel(TimeCanvas* canvas, double y, const TimePanel& panel, const Score& score, std::string_view unit);
void DrawTimeAxis(TimeCanvas* canvas, double y);

}  // namespace dryrig
