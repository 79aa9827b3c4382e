// Spectral arc length and log dimensionless jerk against what their authors' public code prints: siva82kb/SPARC,
// scripts/smoothness.py (Balasubramanian et al., IEEE TBME 59(8) 2012 and J. NeuroEng. Rehabil. 12:112, 2015).
#include "metrics/smoothness.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <vector>

#include "tests/outside/listed.h"

namespace dryrig {
namespace {

/// Speed of a minimum-jerk move of 1 m in `duration_s`, samples at both ends (Flash & Hogan 1985).
std::vector<double> MinimumJerk(double rate_hz, double duration_s = 1) {
  std::vector<double> v;
  const auto n = static_cast<int>(std::lround(rate_hz * duration_s));
  for (int i = 0; i <= n; ++i) {
    const double u = static_cast<double>(i) / n;
    v.push_back(30 * u * u * (1 - u) * (1 - u) / duration_s);
  }
  return v;
}

/// exp(-5t²) at 100 Hz from -1 s, end left out: the profile of the code's own doctests.
std::vector<double> DoctestBell() {
  std::vector<double> v;
  for (int i = 0; i < 200; ++i) v.push_back(std::exp(-5 * std::pow(-1 + 0.01 * i, 2)));
  return v;
}

TEST(SmoothnessOutside, PrintsThePublishedDoctestValues) {
  EXPECT_NEAR(SpectralArcLength(DoctestBell(), 100).value(), -1.41403, 5e-6);  // printed to five digits
  EXPECT_NEAR(LogDimensionlessJerk(DoctestBell(), 100).value(), -5.81636, 5e-6);
  EXPECT_NEAR(-std::exp(-LogDimensionlessJerk(DoctestBell(), 100).value()), -335.74684, 5e-6);
}

// The same public code on minimum-jerk samples, computed with numpy.
TEST(SmoothnessOutside, MinimumJerkAtManyRates) {
  const struct {
    double hz, sparc, ldlj;
  } table[] = {
      {24, -1.40048, -5.2317},    {25, -1.40584, -5.2420},     {30, -1.40041, -5.2509},  {50, -1.40583, -5.2804},
      {60, -1.40041, -5.2876},    {100, -1.40583, -5.30163},   {120, -1.40041, -5.3051}, {240, -1.40041, -5.31363},
      {1000, -1.40243, -5.32003}, {10000, -1.40042, -5.32183},
  };
  for (const auto& row : table) {
    EXPECT_NEAR(SpectralArcLength(MinimumJerk(row.hz), row.hz).value(), row.sparc, 6e-6) << row.hz;
    EXPECT_NEAR(LogDimensionlessJerk(MinimumJerk(row.hz), row.hz).value(), row.ldlj, 6e-5) << row.hz;
  }
}

// Closed form: DLJ = 720/1.875² = 204.8, its logarithm 5.322034. From the analytic jerk, so that only the sum's own error is
// left.
TEST(SmoothnessOutside, MinimumJerkClosedForm) {
  const double rate_hz = 10000;
  const std::vector<double> v = MinimumJerk(rate_hz);
  std::vector<double> jerk;
  for (size_t i = 0; i < v.size(); ++i) {
    const double u = static_cast<double>(i) / rate_hz;
    jerk.push_back(60 * (1 - 6 * u + 6 * u * u));
  }
  EXPECT_NEAR(LogDimensionlessJerk(v, jerk, rate_hz).value(), -std::log(720 / (1.875 * 1.875)), 1e-3);
  // Normalised by mean instead of peak speed it would be 6.579: the mistake would show.
  EXPECT_GT(std::abs(LogDimensionlessJerk(v, jerk, rate_hz).value() + std::log(720)), 1);
}

TEST(SmoothnessOutside, PaddingConvergesToItsLimit) {
  const std::vector<double> v = MinimumJerk(1000);
  const std::pair<int, double> levels[] = {{4, -1.40243}, {6, -1.40676}, {8, -1.40780}, {10, -1.40805}};
  for (const auto& [level, want] : levels) EXPECT_NEAR(SpectralArcLength(v, 1000, level).value(), want, 6e-6) << level;
}

TEST(SmoothnessOutside, DurationAndScaleAndReversalChangeNothing) {
  const std::vector<double> v = DoctestBell();
  std::vector<double> twice = v, backward(v.rbegin(), v.rend());
  for (double& x : twice) x *= 2;
  const double sparc = SpectralArcLength(v, 100).value();
  EXPECT_NEAR(SpectralArcLength(twice, 100).value(), sparc, 1e-12);
  EXPECT_NEAR(SpectralArcLength(backward, 100).value(), sparc, 1e-9);
  EXPECT_NEAR(LogDimensionlessJerk(twice, 100).value(), LogDimensionlessJerk(v, 100).value(), 1e-12);
  for (const double duration_s : {0.5, 1.0, 2.0}) {
    EXPECT_NEAR(SpectralArcLength(MinimumJerk(100, duration_s), 100).value(), -1.40583, 6e-6) << duration_s;
  }
  const std::pair<double, double> ldlj[] = {{0.5, -5.28043}, {1.0, -5.30163}, {2.0, -5.31193}};
  for (const auto& [duration_s, want] : ldlj)
    EXPECT_NEAR(LogDimensionlessJerk(MinimumJerk(100, duration_s), 100).value(), want, 6e-6);
}

/// Two minimum-jerk moves of 1 s with a pause, samples 0 <= t < 2 + gap.
std::vector<double> TwoMoves(double gap_s) {
  std::vector<double> v;
  for (int i = 0; i < std::lround((2 + gap_s) * 1000); ++i) {
    const double t = i / 1000.0;
    double u = t < 1 ? t : t >= 1 + gap_s ? t - 1 - gap_s : 0;
    u = std::min(u, 1.0);
    v.push_back(30 * u * u * (1 - u) * (1 - u));
  }
  return v;
}

TEST(SmoothnessOutside, TwoMovesWithAPause) {
  const struct {
    double gap_s, sparc, ldlj;
  } table[] = {{0, -2.24618, -8.08964}, {0.5, -3.15248, -8.75782}, {1.0, -4.02585, -9.30478}};
  for (const auto& row : table) {
    EXPECT_NEAR(SpectralArcLength(TwoMoves(row.gap_s), 1000).value(), row.sparc, 6e-6) << row.gap_s;
    EXPECT_NEAR(LogDimensionlessJerk(TwoMoves(row.gap_s), 1000).value(), row.ldlj, 6e-6) << row.gap_s;
  }
}

TEST(SmoothnessOutside, HalfSineAndTrapezoid) {
  std::vector<double> half_sine, trapezoid;
  for (int i = 0; i <= 1000; ++i) {
    const double u = i / 1000.0;
    half_sine.push_back(std::sin(std::numbers::pi * u));
    trapezoid.push_back(std::min({u / 0.25, 1.0, (1 - u) / 0.25}));
  }
  EXPECT_NEAR(SpectralArcLength(half_sine, 1000).value(), -1.55729, 6e-6);
  EXPECT_NEAR(SpectralArcLength(trapezoid, 1000).value(), -1.67813, 6e-6);
  EXPECT_NEAR(LogDimensionlessJerk(trapezoid, 1000).value(), -10.37649, 6e-6);
}

// The reference code divides by zero here; ours has a result that says so.
TEST(SmoothnessOutside, NoMotionHasNoSmoothness) {
  for (const std::vector<double>& v : {std::vector<double>(100, 0.0), std::vector<double>{}, std::vector<double>{1}}) {
    EXPECT_FALSE(SpectralArcLength(v, 100));
    EXPECT_FALSE(LogDimensionlessJerk(v, 100));
  }
}

}  // namespace
}  // namespace dryrig
