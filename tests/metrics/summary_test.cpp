#include "metrics/summary.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "metrics/filter.h"

namespace dryrig {
namespace {

TEST(Summary, PercentileIsLinearBetweenOrderStatistics) {
  const std::vector<double> values{40, 10, 30, 20};
  EXPECT_DOUBLE_EQ(PercentileOf(values, 0).value(), 10);
  EXPECT_DOUBLE_EQ(PercentileOf(values, 100).value(), 40);
  EXPECT_DOUBLE_EQ(PercentileOf(values, 50).value(), 25);
  EXPECT_DOUBLE_EQ(PercentileOf(values, 5).value(), 11.5);  // rank 0.15
  EXPECT_DOUBLE_EQ(PercentileOf(std::vector{7.0}, 99).value(), 7);
}

TEST(Summary, PassesOverGapsAndIsNullWithoutValues) {
  const std::vector<double> gappy{kGap, 3, kGap, -4};
  EXPECT_DOUBLE_EQ(MeanOf(gappy).value(), -0.5);
  EXPECT_DOUBLE_EQ(RmsOf(gappy).value(), std::sqrt(12.5));
  EXPECT_DOUBLE_EQ(LeastOf(gappy).value(), -4);
  EXPECT_DOUBLE_EQ(GreatestOf(gappy).value(), 3);
  EXPECT_DOUBLE_EQ(PercentileOf(gappy, 50).value(), -0.5);
  EXPECT_EQ(WorstIndex(gappy, Worst::kHighest), 1u);
  for (const std::vector<double>& none : {std::vector<double>{}, std::vector<double>{kGap, kGap}}) {
    EXPECT_FALSE(MeanOf(none) || RmsOf(none) || LeastOf(none) || GreatestOf(none) || PercentileOf(none, 50) ||
                 WorstIndex(none, Worst::kLowest));
  }
}

TEST(Summary, AFlawlessSeriesHasNoWorstMoment) {
  const auto worst = [](std::vector<double> values, Worst which, std::optional<double> flawless) {
    return MakeScore(1.0, {30, std::move(values)}, which, "why", flawless);
  };
  EXPECT_FALSE(worst({0, 0, kGap}, Worst::kHighest, {}).worst_t_s);
  EXPECT_EQ(worst({0, 0, kGap}, Worst::kHighest, {}).worst_what, "");
  EXPECT_DOUBLE_EQ(worst({0, kGap, 3, 3}, Worst::kHighest, {}).worst_t_s.value(), 2 / 30.0);
  EXPECT_EQ(worst({0, kGap, 3, 3}, Worst::kHighest, {}).worst_what, "why");
  EXPECT_FALSE(worst({1, 1}, Worst::kLowest, 1).worst_t_s);
  EXPECT_DOUBLE_EQ(worst({1, 0.5}, Worst::kLowest, 1).worst_t_s.value(), 1 / 30.0);
  EXPECT_DOUBLE_EQ(worst({1, 1}, Worst::kLowest, {}).worst_t_s.value(),
                   0);  // a distance, say: the least of all is still the least
}

std::vector<double> Sampled(double rate_hz, double from_s, double to_s, auto f) {
  std::vector<double> out;
  for (int i = 0; i <= std::lround((to_s - from_s) * rate_hz); ++i) out.push_back(f(from_s + i / rate_hz));
  return out;
}

// On a cubic every derivative is known; a symmetric filter changes none of the first three beyond what the second moment adds.
TEST(GaussianDerivative, DifferentiatesPolynomials) {
  for (const double rate_hz : {120.0, 240.0, 960.0}) {
    const std::vector<double> x = Sampled(rate_hz, -0.5, 0.5, [](double t) { return 2 + 3 * t + 5 * t * t + 7 * t * t * t; });
    const size_t middle = x.size() / 2;
    const double sigma_s = std::sqrt(std::numbers::ln2) / (2 * std::numbers::pi * 10);
    const double want[4] = {2 + 5 * sigma_s * sigma_s, 3 + 21 * sigma_s * sigma_s, 10, 42};
    for (int order = 0; order < 4; ++order) {
      const std::vector<double> w = GaussianDerivative(order, 10, rate_hz);
      const std::vector<double> y = ConvolveInside(w, x);
      ASSERT_EQ(y.size(), x.size() - w.size() + 1);
      // Samples of a Gaussian 1.6 wide (120 Hz) sum to their integral within e^(-2π² 1.6²), less than 1e-20 of the bell; the cut
      // at seven deviations leaves 1e-9.
      EXPECT_NEAR(y[middle - w.size() / 2], want[order], 2e-3 * (order == 3 ? 1 : 1e-3))
          << "order " << order << " at " << rate_hz << " Hz";
    }
  }
}

TEST(GaussianDerivative, IsThreeDecibelDownAtItsCutOffAtEveryRate) {
  for (const double rate_hz : {120.0, 240.0, 480.0, 960.0}) {
    const std::vector<double> w = GaussianDerivative(0, 10, rate_hz);
    for (const auto& [hz, gain] : {std::pair{1e-9, 1.0}, {10.0, std::sqrt(0.5)}, {20.0, 0.25}}) {
      const std::vector<double> x =
          Sampled(rate_hz, -0.5, 0.5, [hz = hz](double t) { return std::cos(2 * std::numbers::pi * hz * t); });
      EXPECT_NEAR(ConvolveInside(w, x)[x.size() / 2 - w.size() / 2], gain, 1e-8) << hz << " Hz at " << rate_hz << " Hz";
    }
  }
}

TEST(GaussianDerivative, HasLinearPhase) {
  const std::vector<double> w0 = GaussianDerivative(0, 10, 240), w3 = GaussianDerivative(3, 10, 240);
  for (size_t i = 0; i < w0.size(); ++i) {
    EXPECT_DOUBLE_EQ(w0[i], w0[w0.size() - 1 - i]);
    EXPECT_DOUBLE_EQ(w3[i], -w3[w3.size() - 1 - i]);
  }
}

TEST(ConvolveInside, IsEmptyForTooShortASignal) {
  EXPECT_TRUE(ConvolveInside(std::vector<double>(5, 1), std::vector<double>(4, 1)).empty());
  EXPECT_EQ(ConvolveInside(std::vector<double>{1, 2}, std::vector<double>{10, 1, 100}), (std::vector<double>{12, 201}));
}

TEST(GaussianDerivative, RefusesNonsense) {
  EXPECT_THROW(GaussianDerivative(4, 10, 240), std::invalid_argument);
  EXPECT_THROW(GaussianDerivative(0, 0, 240), std::invalid_argument);
  EXPECT_THROW(GaussianDerivative(0, 10, std::nan("")), std::invalid_argument);
}

}  // namespace
}  // namespace dryrig
