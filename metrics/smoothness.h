#pragma once

#include <optional>
#include <span>

namespace dryrig {

/// Spectral arc length of a speed profile (Balasubramanian et al., J. NeuroEng. Rehabil. 12:112, 2015), as its authors' public
/// code computes it: nearer 0 is smoother, one minimum-jerk move gives -1.40. `pad_level` is the power of two by which the
/// spectrum is padded. None for a profile without motion or with a spectrum of one bin.
std::optional<double> SpectralArcLength(std::span<const double> speed_mps, double rate_hz, int pad_level = 4,
                                        double cutoff_hz = 10, double least_amplitude = 0.05);

/// -ln(T³ / v_peak² ∫ j² dt) for a jerk magnitude and a speed sampled alike; T is samples over rate. Nearer plus infinity is
/// smoother, a minimum-jerk move gives -5.322. None without motion or without jerk.
std::optional<double> LogDimensionlessJerk(std::span<const double> speed_mps, std::span<const double> jerk_mps3, double rate_hz);
/// The same from a one-dimensional speed alone: jerk is its plain second difference, the end samples without one left out.
std::optional<double> LogDimensionlessJerk(std::span<const double> speed_mps, double rate_hz);

}  // namespace dryrig
