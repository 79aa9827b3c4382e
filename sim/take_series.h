#pragma once

#include <string>
#include <vector>

#include "sim/take.h"

namespace dryrig {

/// One table of numbers over time, `data` row by row: row i is at i / rate_hz, one value a column.
struct TakeSeries {
  std::string name, unit;
  double rate_hz = 0;
  std::vector<std::string> columns;
  std::vector<double> data;

  size_t rows() const { return columns.empty() ? 0 : data.size() / columns.size(); }
};

/// Every number of a take's frames and ticks, named for people. A frame's chosen shot becomes an index into `shots`, which is
/// filled in order of first use. @throws RunError if two frames or ticks differ in their number of props, links or joints.
std::vector<TakeSeries> SeriesOfTake(const Take& take, std::vector<Shot>* shots);
/// The inverse: fills frames and ticks from all series of a take. @throws InputError if one is missing or of another length.
void FillFromSeries(const std::vector<TakeSeries>& series, const std::vector<Shot>& shots, Take* take);

/// `left index tip`, `pelvis`; point in [0, kNumBodyPoints).
std::string BodyPointName(int point);

}  // namespace dryrig
