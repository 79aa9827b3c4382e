#pragma once

#include <array>
#include <cstddef>
#include <vector>

namespace dryrig {

/// Many values over time as one cubic spline through samples at a steady rate: C2, natural ends.
class SplineTrack {
 public:
  SplineTrack() = default;
  /// `samples`: rows × channels, two rows at least.
  SplineTrack(std::vector<double> samples, size_t channels);

  /// All channels at row `u`, which may lie between rows; beyond the ends the end's value. `out` has room for channels().
  void At(double u, double* out) const;
  /// First and second derivative by row number at `u`, [0, rows() - 1].
  void RatesAt(double u, double* first, double* second) const;
  size_t channels() const { return channels_; }
  size_t rows() const { return channels_ == 0 ? 0 : weights_.size() / channels_; }

 private:
  size_t RowBefore(double* u) const;
  void Blend(size_t i, std::array<double, 4> b, double* out) const;

  size_t channels_ = 0;
  std::vector<double> weights_;  // of the basis, rows × channels; that before the first row and behind the last are implied
};

}  // namespace dryrig
