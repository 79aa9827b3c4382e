#pragma once

#include <string>
#include <vector>

#include "metrics/metric.h"
#include "sim/take_series.h"

namespace dryrig {

/// Every series that a take can export: one a metric that has one, under the metric's name, then the take's own.
std::vector<TakeSeries> AllSeries(const Take& take, const Scorecard& card);

/// A CSV of some series: a column `t_s`, then one a number with its unit. Rows come at the highest rate; a slower series fills
/// the rows that its samples fall on. @throws InputError unless all rates divide the highest.
std::string SeriesCsv(const std::vector<TakeSeries>& series);

}  // namespace dryrig
