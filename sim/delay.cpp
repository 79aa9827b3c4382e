#include "sim/delay.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kLeastOverlap_s = 2;
constexpr double kIndependent_s = 0.1;

struct Lag {
  double match = -2, left = 0,
         slope = 0;  // mean square of what is left and of the slope, in b's units
  size_t rows = 0;
};

/// b's row i + lag beside a's row i.
Lag AtLag(const EvenSignal& a, const EvenSignal& b, int64_t lag) {
  Lag out;
  const auto first = std::max<int64_t>(0, -lag),
             end = std::min<int64_t>(static_cast<int64_t>(a.rows()), static_cast<int64_t>(b.rows()) - lag);
  if (static_cast<double>(end - first) < kLeastOverlap_s * a.rate_hz) return out;
  const double n = static_cast<double>(end - first);
  double xx = 0, yy = 0, xy = 0, slope = 0;
  const size_t m = a.channels;
  for (size_t c = 0; c < m; ++c) {
    double sx = 0, sy = 0, sxx = 0, syy = 0, sxy = 0, before = 0;
    for (int64_t i = first; i < end; ++i) {
      const double x = a.values[static_cast<size_t>(i) * m + c], y = b.values[static_cast<size_t>(i + lag) * m + c];
      sx += x, sy += y, sxx += x * x, syy += y * y, sxy += x * y;
      if (i > first) slope += (x - before) * (x - before);
      before = x;
    }
    xx += sxx - sx * sx / n, yy += syy - sy * sy / n, xy += sxy - sx * sy / n;
  }
  out.rows = static_cast<size_t>(n);
  if (!(xx > 1e-18 * n && yy > 1e-18 * n)) {
    out.match = 0;
    return out;
  }
  out.match = xy / std::sqrt(xx * yy);
  out.left = std::max(0.0, yy - xy * xy / xx) / n;
  out.slope = slope / n * a.rate_hz * a.rate_hz * yy / xx;
  return out;
}

}  // namespace

EvenSignal Sampled(double start_s, double end_s, double rate_hz, size_t channels,
                   const std::function<void(double, double*)>& at) {
  EvenSignal out{start_s, rate_hz, channels, {}};
  const auto rows = static_cast<size_t>(std::max(0.0, std::floor((end_s - start_s) * rate_hz + 1e-6))) + 1;
  out.values.resize(rows * channels);
  for (size_t i = 0; i < rows; ++i) at(start_s + static_cast<double>(i) / rate_hz, out.values.data() + i * channels);
  return out;
}

Delay FindDelay(const EvenSignal& a, const EvenSignal& b, double least_s, double most_s) {
  // A lag of rows is this delay: b.start + (i + lag)/rate less a.start +
  // i/rate.
  const double zero_s = b.start_s - a.start_s, rate = a.rate_hz;
  const auto first = static_cast<int64_t>(std::ceil((least_s - zero_s) * rate)),
             last = static_cast<int64_t>(std::floor((most_s - zero_s) * rate));
  int64_t best_lag = first;
  Lag best;
  for (int64_t lag = first; lag <= last; ++lag) {
    const Lag now = AtLag(a, b, lag);
    if (now.match > best.match) best = now, best_lag = lag;
  }
  Delay out;
  if (best.match <= 0) return out;
  const double before = AtLag(a, b, best_lag - 1).match, after = AtLag(a, b, best_lag + 1).match;
  const double bend = before - 2 * best.match + after;
  const double part = bend < 0 && before > -2 && after > -2 ? std::clamp(0.5 * (before - after) / bend, -0.5, 0.5) : 0;
  out.delay_s = zero_s + (static_cast<double>(best_lag) + part) / rate;
  out.match = best.match;
  const double independent = std::max(1.0, static_cast<double>(best.rows) / (kIndependent_s * rate));
  out.sigma_s = best.slope > 0 ? std::sqrt(best.left / best.slope / independent) : 0;
  return out;
}

}  // namespace dryrig
