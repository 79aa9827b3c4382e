#include "bench/series_csv.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "bench/csv.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

std::string ColumnName(const TakeSeries& series, size_t column) {
  const bool one = series.columns.size() == 1;
  return HeaderWithUnit(one ? series.name : fmt::format("{}: {}", series.name, series.columns[column]),
                        series.unit == "1" ? "" : series.unit);
}

}  // namespace

std::vector<TakeSeries> AllSeries(const Take& take, const Scorecard& card) {
  std::vector<TakeSeries> out;
  for (size_t i = 0; i < card.scores.size(); ++i) {
    const Series& series = card.scores[i].series;
    const Metric& metric = Metrics()[i];
    if (series.rate_hz > 0)
      out.push_back(
          {std::string(metric.name), std::string(metric.unit), series.rate_hz, {std::string(metric.name)}, series.values});
  }
  std::vector<Shot> shots;
  std::vector<TakeSeries> own = SeriesOfTake(take, &shots);
  std::move(own.begin(), own.end(), std::back_inserter(out));
  return out;
}

std::string SeriesCsv(const std::vector<TakeSeries>& series) {
  double rate_hz = 0;
  for (const TakeSeries& one : series) rate_hz = std::max(rate_hz, one.rate_hz);
  std::vector<size_t> every;  // rows between two samples
  size_t rows = 0;
  for (const TakeSeries& one : series) {
    const double ratio = rate_hz / one.rate_hz;
    if (std::abs(ratio - std::round(ratio)) > 1e-9 * ratio) {
      throw InputError(
          fmt::format("series {} at {} Hz does not fit into rows at {} Hz; export it by itself", one.name, one.rate_hz, rate_hz));
    }
    every.push_back(static_cast<size_t>(std::round(ratio)));
    if (one.rows() > 0) rows = std::max(rows, (one.rows() - 1) * every.back() + 1);
  }
  CsvLine header;
  header.Text("t_s");
  for (const TakeSeries& one : series) {
    for (size_t column = 0; column < one.columns.size(); ++column) header.Text(ColumnName(one, column));
  }
  std::string out = header.Done();
  for (size_t row = 0; row < rows; ++row) {
    CsvLine line;
    line.Number(static_cast<double>(row) / rate_hz);
    for (size_t i = 0; i < series.size(); ++i) {
      const TakeSeries& one = series[i];
      const size_t width = one.columns.size(), sample = row / every[i];
      const bool there = row % every[i] == 0 && sample < one.rows();
      for (size_t column = 0; column < width; ++column) {
        line.Number(there ? std::optional(one.data[sample * width + column]) : std::nullopt);
      }
    }
    out += line.Done();
  }
  return out;
}

}  // namespace dryrig
