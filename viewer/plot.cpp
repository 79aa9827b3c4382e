#include "viewer/plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace dryrig {

namespace {

void Include(PlotColumn* column, double value) {
  if (!std::isfinite(value)) return;
  column->lo = column->empty ? value : std::min(column->lo, value);
  column->hi = column->empty ? value : std::max(column->hi, value);
  column->empty = false;
}

}  // namespace

std::vector<PlotColumn> PlotColumns(const Series& series, double from_s, double to_s, int columns) {
  std::vector<PlotColumn> out(static_cast<size_t>(columns));
  if (!(series.rate_hz > 0) || series.values.empty()) return out;
  constexpr double kSlack = 1e-6;  // samples
  const auto size = static_cast<double>(series.values.size());
  const double per_column = (to_s - from_s) * series.rate_hz / columns;
  for (int c = 0; c < columns; ++c) {
    // Sample i belongs to the column in which its time lies.
    const double begin = std::ceil(from_s * series.rate_hz + c * per_column - kSlack);
    const double end = std::ceil(from_s * series.rate_hz + (c + 1) * per_column - kSlack);
    auto& column = out[static_cast<size_t>(c)];
    if (begin < end) {
      for (double i = std::max(begin, 0.0); i < std::min(end, size); ++i) Include(&column, series.values[static_cast<size_t>(i)]);
    } else if (begin >= 1 && begin <= size) {
      Include(&column, series.values[static_cast<size_t>(begin) - 1]);
    }
  }
  return out;
}

std::optional<PlotRange> RangeOf(const Series& series) {
  PlotColumn all;
  for (const double value : series.values) Include(&all, value);
  if (all.empty) return std::nullopt;
  return PlotRange{all.lo, all.hi};
}

PlotRange AxisFor(const PlotRange& range) {
  constexpr double kRoom = 0.06, kNearZero = 0.5;
  double lo = range.lo, hi = range.hi;
  const double span = hi - lo;
  if (lo > 0 && lo < kNearZero * hi) lo = 0;
  if (hi < 0 && hi > kNearZero * lo) hi = 0;
  if (span == 0) {
    const double half = lo == 0 ? 0.5 : 0.1 * std::abs(lo);
    return {lo - half, hi + half};
  }
  return {lo == 0 ? 0 : lo - kRoom * span, hi == 0 ? 0 : hi + kRoom * span};
}

std::string Shown(double value) {
  const double size = std::abs(value);
  if (size == 0) return "0";
  if (size < 1e-3 || size >= 1e6) {
    const int power = static_cast<int>(std::floor(std::log10(size)));
    return fmt::format("{:.1f}e{}", value / std::pow(10.0, power), power);
  }
  const int digits = std::clamp(2 - static_cast<int>(std::floor(std::log10(size))), 0, 5);
  std::string out = fmt::format("{:.{}f}", value, digits);
  if (out.find('.') != std::string::npos) {
    out.erase(out.find_last_not_of('0') + 1);
    if (out.back() == '.') out.pop_back();
  }
  return out;
}

std::string ShownTime(double t_s) {
  const double hundredths = std::round(std::max(0.0, t_s) * 100);
  const auto minutes = static_cast<long>(hundredths / 6000);
  const double rest_s = (hundredths - 6000.0 * static_cast<double>(minutes)) / 100;
  return minutes > 0 ? fmt::format("{}:{:05.2f}", minutes, rest_s) : fmt::format("{:.2f}", rest_s);
}

double TickStep_s(double length_s, int most) {
  constexpr std::array kSteps{0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0};
  for (const double step : kSteps) {
    if (length_s / step <= std::max(1, most)) return step;
  }
  return 3600;
}

}  // namespace dryrig
