#include "metrics/smoothness.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <unsupported/Eigen/FFT>
#include <vector>

namespace dryrig {

namespace {

/// Amplitudes of the first bins of a real signal's spectrum, relative to the greatest of all; the signal is padded with zeros.
std::vector<double> RelativeSpectrum(std::span<const double> x, size_t size, size_t bins) {
  std::vector<double> padded(size, 0.0);
  std::copy(x.begin(), x.end(), padded.begin());
  Eigen::FFT<double> fft;
  fft.SetFlag(Eigen::FFT<double>::HalfSpectrum);
  std::vector<std::complex<double>> spectrum;
  fft.fwd(spectrum, padded);
  double greatest = 0;
  for (const std::complex<double>& bin : spectrum) greatest = std::max(greatest, std::norm(bin));
  greatest = std::sqrt(greatest);
  if (!(greatest > 0)) return {};
  std::vector<double> out(std::min(bins, spectrum.size()));
  for (size_t i = 0; i < out.size(); ++i) out[i] = std::abs(spectrum[i]) / greatest;
  return out;
}

}  // namespace

std::optional<double> SpectralArcLength(std::span<const double> speed_mps, double rate_hz, int pad_level, double cutoff_hz,
                                        double least_amplitude) {
  if (speed_mps.size() < 2) return std::nullopt;
  size_t size = 1;
  while (size < speed_mps.size()) size *= 2;
  size <<= pad_level;
  const double bin_hz = rate_hz / static_cast<double>(size);
  const auto bins = static_cast<size_t>(std::floor(cutoff_hz / bin_hz * (1 + 1e-12))) + 1;
  const std::vector<double> amplitude = RelativeSpectrum(speed_mps, size, bins);

  size_t first = amplitude.size(), last = 0;
  for (size_t i = 0; i < amplitude.size(); ++i) {
    if (amplitude[i] < least_amplitude) continue;
    first = std::min(first, i);
    last = i;
  }
  if (first >= last) return std::nullopt;
  const double step = 1 / static_cast<double>(last - first);
  double length = 0;
  for (size_t i = first; i < last; ++i) length += std::hypot(step, amplitude[i + 1] - amplitude[i]);
  return -length;
}

std::optional<double> LogDimensionlessJerk(std::span<const double> speed_mps, std::span<const double> jerk_mps3, double rate_hz) {
  if (speed_mps.empty()) return std::nullopt;
  const double peak = *std::max_element(speed_mps.begin(), speed_mps.end());
  double squares = 0;
  for (const double jerk : jerk_mps3) squares += jerk * jerk;
  if (!(peak > 0) || !(squares > 0)) return std::nullopt;
  const double duration_s = static_cast<double>(speed_mps.size()) / rate_hz;
  return -std::log(std::pow(duration_s, 3) / (peak * peak) * squares / rate_hz);
}

std::optional<double> LogDimensionlessJerk(std::span<const double> speed_mps, double rate_hz) {
  std::vector<double> jerk;
  for (size_t i = 2; i < speed_mps.size(); ++i) {
    jerk.push_back((speed_mps[i] - 2 * speed_mps[i - 1] + speed_mps[i - 2]) * rate_hz * rate_hz);
  }
  return LogDimensionlessJerk(speed_mps, jerk, rate_hz);
}

}  // namespace dryrig
