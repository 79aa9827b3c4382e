#include "sim/spline_track.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

SplineTrack::SplineTrack(std::vector<double> samples, size_t channels) : channels_(channels), weights_(std::move(samples)) {
  // A uniform cubic B-spline takes (w[i-1] + 4 w[i] + w[i+1]) / 6 at row i. With no curvature at the ends w[0] and w[n-1] are the
  // samples themselves; the rest is a tridiagonal system, solved in place.
  const size_t n = rows();
  if (n < 3) return;
  double* w = weights_.data();
  const size_t m = channels_;
  std::vector<double> upper(n);
  for (size_t c = 0; c < m; ++c) w[(n - 2) * m + c] -= w[(n - 1) * m + c] / 6;
  double pivot = 4;
  for (size_t i = 1; i + 1 < n; ++i) {
    const double share = 1 / pivot;
    const double* before = w + (i - 1) * m;
    double* row = w + i * m;
    for (size_t c = 0; c < m; ++c) row[c] = (6 * row[c] - before[c]) * share;
    upper[i] = share;
    pivot = 4 - share;
  }
  for (size_t i = n - 2; i-- > 1;) {
    for (size_t c = 0; c < m; ++c) w[i * m + c] -= upper[i] * w[(i + 1) * m + c];
  }
}

void SplineTrack::Blend(size_t i, std::array<double, 4> b, double* out) const {
  const size_t n = rows(), m = channels_;
  const double* row1 = weights_.data() + i * m;
  const double* row2 = row1 + m;
  // Beyond an end a weight goes on in a straight line, which is what no curvature there means.
  const double* row0 = row1 - m;
  const double* row3 = row2 + m;
  if (i == 0) {
    b[1] += 2 * b[0];
    b[2] -= b[0];
    b[0] = 0;
    row0 = row1;
  }
  if (i + 2 >= n) {
    b[2] += 2 * b[3];
    b[1] -= b[3];
    b[3] = 0;
    row3 = row2;
  }
  for (size_t c = 0; c < m; ++c) out[c] = b[0] * row0[c] + b[1] * row1[c] + b[2] * row2[c] + b[3] * row3[c];
}

size_t SplineTrack::RowBefore(double* u) const {
  *u = std::clamp(*u, 0.0, static_cast<double>(rows() - 1));
  return std::min(static_cast<size_t>(*u), rows() - 2);
}

void SplineTrack::At(double u, double* out) const {
  const size_t i = RowBefore(&u);
  const double s = u - static_cast<double>(i), r = 1 - s;
  Blend(i,
        {r * r * r / 6, (3 * s * s * s - 6 * s * s + 4) / 6, (3 * r * r * r - 6 * r * r + 4) / 6, s * s * s / 6}, out);
}

void SplineTrack::RatesAt(double u, double* first, double* second) const {
  const size_t i = RowBefore(&u);
  const double s = u - static_cast<double>(i), r = 1 - s;
  Blend(i, {-r * r / 2, (3 * s * s - 4 * s) / 2, (4 * r - 3 * r * r) / 2, s * s / 2}, first);
  Blend(i, {r, 3 * s - 2, 3 * r - 2, s}, second);
}

}  // namespace dryrig
