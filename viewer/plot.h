#pragma once

#include <optional>
#include <string>
#include <vector>

#include "metrics/metric.h"

namespace dryrig {

/// Least and greatest value of the samples under one column of a plot; none where there are only gaps.
struct PlotColumn {
  double lo = 0, hi = 0;
  bool empty = true;
};
/// The series over [from_s, to_s) in `columns` columns. Every sample falls into one; a column between two samples takes the one
/// before it. @pre columns > 0, from_s < to_s
std::vector<PlotColumn> PlotColumns(const Series& series, double from_s, double to_s, int columns);

struct PlotRange {
  double lo = 0, hi = 1;
  bool operator==(const PlotRange&) const = default;
};
/// Least and greatest of all samples; none if all are gaps.
std::optional<PlotRange> RangeOf(const Series& series);
/// An axis that holds the range with some room, and 0 where that is near.
PlotRange AxisFor(const PlotRange& range);

/// A number for people: three significant digits between 0.001 and 1e6, two and an exponent elsewhere.
std::string Shown(double value);
/// `1:23.45`, `4.20`: a time on the time line.
std::string ShownTime(double t_s);
/// A round distance between marks of the time axis of which at most `most` fit into the length (3,600 s is the last resort).
double TickStep_s(double length_s, int most);

}  // namespace dryrig
