#pragma once

#include <functional>
#include <vector>

namespace dryrig {

/// A signal of several channels sampled evenly from start_s on; rows ×
/// channels.
struct EvenSignal {
  double start_s = 0, rate_hz = 0;
  size_t channels = 0;
  std::vector<double> values;

  size_t rows() const { return channels == 0 ? 0 : values.size() / channels; }
  double end_s() const { return start_s + (rows() == 0 ? 0 : static_cast<double>(rows() - 1) / rate_hz); }
};

/// Samples a function of time evenly; `at` writes one row.
EvenSignal Sampled(double start_s, double end_s, double rate_hz, size_t channels, const std::function<void(double, double*)>& at);

/// How much later a motion comes in b than in a, on the clocks that the signals
/// have.
struct Delay {
  double delay_s = 0;
  double match = 0;    // correlation there, 1: the same
  double sigma_s = 0;  // standard error, from what is left and the signal's
                       // slope, its samples 0.1 s apart taken as independent
};

/// The delay in [least_s, most_s] at which the signals, each channel less its
/// mean, correlate best where they overlap (2 s at least): first on a grid of
/// the signals' rate, then by a parabola through the three best. Match 0 where
/// there is no overlap or no motion. @pre the same channels and rate.
Delay FindDelay(const EvenSignal& a, const EvenSignal& b, double least_s, double most_s);

}  // namespace dryrig
