#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "bench/time_canvas.h"
#include "bench/tune_report.h"

namespace dryrig {

namespace {

constexpr double kPlotWidth = 900, kPlotHeight = 460, kPlotLeft = 80, kPlotRight = 24, kPlotTop = 64, kPlotBottom = 52;

/// A stretch of numbers along an axis.
struct Stretch {
  double lo = 0, hi = 0;
  void Hold(double value) { lo = std::min(lo, value), hi = std::max(hi, value); }
  /// A tenth of room at both ends, and never nothing.
  Stretch Roomy() const {
    const double room = std::max(0.1 * (hi - lo), 0.01);
    return {lo - room, hi + room};
  }
  double Share(double value) const { return (value - lo) / (hi - lo); }
  /// A round step that divides it into about six.
  double Step() const {
    const double rough = (hi - lo) / 6, ten = std::pow(10, std::floor(std::log10(rough)));
    return ten * (rough / ten < 1.5 ? 1 : rough / ten < 3.5 ? 2 : rough / ten < 7.5 ? 5 : 10);
  }
};

class Plot {
 public:
  Plot(const Stretch& across, const Stretch& up, const std::string& title) : across_(across), up_(up) {
    out_ = fmt::format(
        R"svg(<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0:.0f} {1:.0f}" font-family="sans-serif" font-size="12">
<rect width="{0:.0f}" height="{1:.0f}" fill="#fff"/><text x="{2:.0f}" y="26" font-size="16">{3}</text>
)svg",
        kPlotWidth, kPlotHeight, kPlotLeft, Escaped(title));
  }
  double X(double value) const { return kPlotLeft + (kPlotWidth - kPlotLeft - kPlotRight) * across_.Share(value); }
  double Y(double value) const { return kPlotHeight - kPlotBottom - (kPlotHeight - kPlotTop - kPlotBottom) * up_.Share(value); }

  void Axes(const std::string& across, const std::string& up) {
    for (double v = std::ceil(across_.lo / across_.Step()) * across_.Step(); v <= across_.hi; v += across_.Step()) {
      Line(X(v), kPlotTop, X(v), kPlotHeight - kPlotBottom, "#e4e4e4");
      Text(X(v), kPlotHeight - kPlotBottom + 18, "middle", Number(v));
    }
    for (double v = std::ceil(up_.lo / up_.Step()) * up_.Step(); v <= up_.hi; v += up_.Step()) {
      Line(kPlotLeft, Y(v), kPlotWidth - kPlotRight, Y(v), "#e4e4e4");
      Text(kPlotLeft - 8, Y(v) + 4, "end", Number(v));
    }
    Text((kPlotLeft + kPlotWidth - kPlotRight) / 2, kPlotHeight - 12, "middle", across);
    Text(kPlotLeft, kPlotTop - 14, "start", up);
  }
  void Line(double x1, double y1, double x2, double y2, const char* colour, double width = 1) {
    out_ += fmt::format("<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"{}\" stroke-width=\"{}\"/>\n", x1,
                        y1, x2, y2, colour, width);
  }
  void Dot(double x, double y, const char* fill, double radius, const std::string& told) {
    out_ +=
        fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"{}\" fill=\"{}\" stroke=\"#123e6b\"><title>{}</title></circle>\n", x,
                    y, radius, fill, Escaped(told));
  }
  void Text(double x, double y, const char* anchor, const std::string& text) {
    out_ += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", x, y, anchor, Escaped(text));
  }
  std::string Done() const { return out_ + "</svg>\n"; }

 private:
  static std::string Number(double value) { return fmt::format("{:.4g}", std::abs(value) < 1e-9 ? 0 : value); }
  Stretch across_, up_;
  std::string out_;
};

std::string Told(const Tuning& tuning, size_t i) {
  std::string out = fmt::format("{}:", i + 1);
  for (size_t p = 0; p < tuning.space.size(); ++p) out += fmt::format(" {}={}", tuning.space[p].name, tuning.course[i].at[p]);
  return out;
}

/// White where it cannot be had: a take failed or broke a limit.
const char* FillOf(const TriedPoint& tried) {
  return tried.failed || tried.broken ? "#fff" : "#8fb4d9";
}

/// Every evaluation's gain, and the best so far.
std::string CourseSvg(const Tuning& tuning) {
  Stretch up{0, 0};
  double worst_shown = 0;
  for (const TriedPoint& tried : tuning.course) {
    if (!tried.failed && !tried.broken) up.Hold(-100 * tried.costs[0]);
  }
  up = up.Roomy();
  worst_shown = up.lo;
  const auto count = static_cast<double>(tuning.course.size());
  Plot plot(Stretch{0.5, count + 0.5}, up, fmt::format("The search for {}'s parameters", tuning.policy));
  plot.Axes("evaluation", "gain by the wishes on the lessons tuned on [%]; white: a take failed or broke a limit");
  double best = -1e9;
  for (size_t i = 0; i < tuning.course.size(); ++i) {
    const TriedPoint& tried = tuning.course[i];
    const double gain = -100 * tried.costs[0], at = static_cast<double>(i + 1);
    const double before = best;
    best = std::max(best, gain);
    if (i > 0) {
      const double from = std::max(before, worst_shown), to = std::max(best, worst_shown);
      plot.Line(plot.X(at - 1), plot.Y(from), plot.X(at), plot.Y(from), "#b3541e", 2);
      plot.Line(plot.X(at), plot.Y(from), plot.X(at), plot.Y(to), "#b3541e", 2);
    }
    plot.Dot(plot.X(at), plot.Y(std::max(gain, worst_shown)), FillOf(tried), 4, Told(tuning, i));
  }
  return plot.Done();
}

/// All that was tried by its change in both metrics; the front as steps.
std::string FrontSvg(const Tuning& tuning) {
  Stretch across{0, 0}, up{0, 0};
  std::vector<FrontPoint> had;
  for (const TriedPoint& tried : tuning.course) {
    if (tried.failed || tried.broken) continue;
    had.push_back({tried.at, {100 * tried.costs[0], 100 * tried.costs[1]}});
    across.Hold(had.back().costs[0]);
    up.Hold(had.back().costs[1]);
  }
  Plot plot(across.Roomy(), up.Roomy(), fmt::format("{}: what {} costs in {}", tuning.policy, tuning.front[0], tuning.front[1]));
  plot.Axes(fmt::format("{}: change for the worse against the start [%]", tuning.front[0]),
            fmt::format("{}: change for the worse against the start [%]", tuning.front[1]));
  const std::vector<FrontPoint> front = Unbeaten(had);
  for (size_t i = 1; i < front.size(); ++i) {
    const double x0 = plot.X(front[i - 1].costs[0]), x1 = plot.X(front[i].costs[0]);
    const double y0 = plot.Y(front[i - 1].costs[1]), y1 = plot.Y(front[i].costs[1]);
    plot.Line(x0, y0, x1, y0, "#b3541e", 2);
    plot.Line(x1, y0, x1, y1, "#b3541e", 2);
  }
  for (size_t i = 0; i < tuning.course.size(); ++i) {
    const TriedPoint& tried = tuning.course[i];
    if (tried.failed || tried.broken) continue;
    plot.Dot(plot.X(100 * tried.costs[0]), plot.Y(100 * tried.costs[1]), i == 0 ? "#b3541e" : FillOf(tried), i == 0 ? 6 : 4,
             Told(tuning, i));
  }
  for (size_t i = 0; i < tuning.settings.size(); ++i) {
    for (const FrontPoint& point : front) {
      if (point.at == tuning.settings[i].at)
        plot.Text(plot.X(point.costs[0]) + 8, plot.Y(point.costs[1]) - 6, "start", fmt::format("{}.", i + 1));
    }
  }
  return plot.Done();
}

}  // namespace

std::string TuningSvg(const Tuning& tuning) {
  return tuning.front.empty() ? CourseSvg(tuning) : FrontSvg(tuning);
}

}  // namespace dryrig
