#include "metrics/filter.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>

namespace dryrig {

std::vector<double> GaussianDerivative(int order, double cutoff_hz, double rate_hz) {
  if (order < 0 || order > 3 || !(cutoff_hz > 0) || !(rate_hz > 0)) {
    throw std::invalid_argument("GaussianDerivative: order in [0, 3] and rates above 0 are needed");
  }
  // Gain exp(-(2π f σ)²/2) is 1/√2 at f = √(ln 2) / (2π σ).
  const double sigma_s = std::sqrt(std::numbers::ln2) / (2 * std::numbers::pi * cutoff_hz);
  const int half = static_cast<int>(std::ceil(7 * sigma_s * rate_hz));
  std::vector<double> weights(static_cast<size_t>(2 * half + 1));
  for (int j = -half; j <= half; ++j) {
    const double u = j / rate_hz / sigma_s;
    const double bell = std::exp(-0.5 * u * u) / (sigma_s * std::sqrt(2 * std::numbers::pi)) / rate_hz;
    // Derivatives of the bell at -u: the sum runs forward in time.
    const double polynomial = order == 0 ? 1 : order == 1 ? u : order == 2 ? u * u - 1 : u * u * u - 3 * u;
    weights[static_cast<size_t>(j + half)] = polynomial * bell / std::pow(sigma_s, order);
  }
  return weights;
}

std::vector<double> ConvolveInside(std::span<const double> weights, std::span<const double> x) {
  if (weights.empty() || x.size() < weights.size()) return {};
  std::vector<double> y(x.size() - weights.size() + 1, 0.0);
  // Blocks that stay in the first cache; within one, weight by weight so that the inner loop runs over neighbours.
  constexpr size_t kBlock = 1024;
  for (size_t from = 0; from < y.size(); from += kBlock) {
    const size_t to = std::min(y.size(), from + kBlock);
    for (size_t j = 0; j < weights.size(); ++j) {
      const double weight = weights[j];
      const double* in = x.data() + j;
      for (size_t i = from; i < to; ++i) y[i] += weight * in[i];
    }
  }
  return y;
}

}  // namespace dryrig
