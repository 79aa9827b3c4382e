#pragma once

#include <span>
#include <vector>

namespace dryrig {

/// Weights that turn samples at `rate_hz` into the `order`-th derivative (0 to 3) of the low-passed signal: the derivative of a
/// Gaussian that is -3 dB at `cutoff_hz`, seven of its standard deviations to either side. Symmetric, so its phase is linear
/// and nothing is delayed; defined in continuous time, so the result does not depend on the rate. Odd length.
std::vector<double> GaussianDerivative(int order, double cutoff_hz, double rate_hz);

/// y[i] = Σ weights[j] x[i + j] where the weights fit wholly: shorter than x by weights.size() - 1, empty if x is too short.
std::vector<double> ConvolveInside(std::span<const double> weights, std::span<const double> x);

}  // namespace dryrig
