#include "sim/rng.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <set>
#include <vector>

namespace dryrig {
namespace {

constexpr int kMany = 200'000;

double Correlation(const std::vector<double>& a, const std::vector<double>& b) {
  double ma = 0, mb = 0, ab = 0, aa = 0, bb = 0;
  for (size_t i = 0; i < a.size(); ++i) ma += a[i], mb += b[i];
  ma /= static_cast<double>(a.size()), mb /= static_cast<double>(b.size());
  for (size_t i = 0; i < a.size(); ++i) {
    ab += (a[i] - ma) * (b[i] - mb);
    aa += (a[i] - ma) * (a[i] - ma);
    bb += (b[i] - mb) * (b[i] - mb);
  }
  return ab / std::sqrt(aa * bb);
}

// Five standard deviations of a correlation of kMany independent pairs.
const double kNoCorrelation = 5 / std::sqrt(kMany);

TEST(RandomStream, SameSeedAndPurposeGiveTheSameBits) {
  RandomStream a(7, "tremor"), b(7, "tremor");
  for (int i = 0; i < 1000; ++i) {
    EXPECT_EQ(a.Uniform(), b.Uniform());
    EXPECT_EQ(a.Normal(), b.Normal());
  }
}

TEST(RandomStream, ValueIDoesNotDependOnWhatWasAskedBefore) {
  RandomStream moved(7, "tremor");
  const RandomStream still(7, "tremor");
  for (int i = 0; i < 100; ++i) moved.Normal();
  for (const uint64_t i : {uint64_t{0}, uint64_t{1}, uint64_t{99}, uint64_t{1} << 40, ~uint64_t{0}}) {
    EXPECT_EQ(moved.BitsAt(i), still.BitsAt(i));
    EXPECT_EQ(moved.UniformAt(i), still.UniformAt(i));
    EXPECT_EQ(moved.NormalAt(i), still.NormalAt(i));
  }
}

TEST(RandomStream, NextValuesAreThoseByNumber) {
  RandomStream stream(3, "path");
  EXPECT_EQ(stream.Uniform(), stream.UniformAt(0));
  EXPECT_EQ(stream.Normal(), stream.NormalAt(1));
  EXPECT_EQ(stream.Uniform(2, 4), 2 + 2 * stream.UniformAt(2));
}

TEST(RandomStream, UniformFillsItsRangeEvenly) {
  RandomStream stream(11, "uniform");
  std::array<int, 64> bins{};
  for (int i = 0; i < kMany; ++i) {
    const double u = stream.Uniform();
    ASSERT_GE(u, 0);
    ASSERT_LT(u, 1);
    ++bins[static_cast<size_t>(u * 64)];
  }
  double chi2 = 0;
  for (const int n : bins) chi2 += std::pow(n - kMany / 64.0, 2) / (kMany / 64.0);
  // 63 degrees of freedom: mean 63, standard deviation 11.2; five of them either way.
  EXPECT_GT(chi2, 63 - 56);
  EXPECT_LT(chi2, 63 + 56);
}

TEST(RandomStream, NormalHasTheMomentsAndTailsOfTheStandardNormal) {
  RandomStream stream(13, "normal");
  double m1 = 0, m2 = 0, m3 = 0, m4 = 0;
  int beyond_two = 0;
  for (int i = 0; i < kMany; ++i) {
    const double x = stream.Normal();
    m1 += x, m2 += x * x, m3 += x * x * x, m4 += x * x * x * x;
    beyond_two += std::abs(x) > 2;
  }
  // Five standard errors each: var(x) = 1, var(x²) = 2, var(x³) = 15, var(x⁴) = 96.
  EXPECT_NEAR(m1 / kMany, 0, 5 * std::sqrt(1.0 / kMany));
  EXPECT_NEAR(m2 / kMany, 1, 5 * std::sqrt(2.0 / kMany));
  EXPECT_NEAR(m3 / kMany, 0, 5 * std::sqrt(15.0 / kMany));
  EXPECT_NEAR(m4 / kMany, 3, 5 * std::sqrt(96.0 / kMany));
  EXPECT_NEAR(double(beyond_two) / kMany, 0.0455003, 5 * std::sqrt(0.0455 * 0.9545 / kMany));
}

TEST(RandomStream, PurposesSeedsAndNeighboursDoNotCorrelate) {
  RandomStream a(1, "tremor left"), b(1, "tremor right"), c(2, "tremor left");
  std::vector<double> va, vb, vc, next;
  for (int i = 0; i < kMany; ++i) {
    va.push_back(a.Uniform());
    vb.push_back(b.Uniform());
    vc.push_back(c.Uniform());
    next.push_back(a.UniformAt(static_cast<uint64_t>(i) + 1));
  }
  EXPECT_LT(std::abs(Correlation(va, vb)), kNoCorrelation);
  EXPECT_LT(std::abs(Correlation(va, vc)), kNoCorrelation);
  EXPECT_LT(std::abs(Correlation(va, next)), kNoCorrelation);
  EXPECT_GT(Correlation(va, va), 0.999);  // the measure sees what it should
}

// A normal made from the bits of uniforms 2i and 2i+1 would be a function of them: |x| is large where uniform 2i is near 1.
TEST(RandomStream, NormalsShareNoBitsWithUniformsOfTheSameStream) {
  const RandomStream stream(5, "both");
  std::vector<double> size, doubled, same;
  for (uint64_t i = 0; i < kMany; ++i) {
    size.push_back(std::abs(stream.NormalAt(i)));
    doubled.push_back(stream.UniformAt(2 * i));
    same.push_back(stream.UniformAt(i));
  }
  EXPECT_LT(std::abs(Correlation(size, doubled)), kNoCorrelation);
  EXPECT_LT(std::abs(Correlation(size, same)), kNoCorrelation);
}

TEST(RandomStream, NearSeedsGiveFarBits) {
  double flipped = 0;
  for (uint64_t seed = 0; seed < 256; ++seed) {
    flipped += std::popcount(RandomStream(seed, "x").BitsAt(0) ^ RandomStream(seed + 1, "x").BitsAt(0));
  }
  // Half of 64 bits; the mean of 256 such counts has a standard deviation of 4/16.
  EXPECT_NEAR(flipped / 256, 32, 5 * 0.25);
}

TEST(RandomStream, NoTwoOfManyStreamsStartAlike) {
  std::set<uint64_t> first;
  for (uint64_t seed = 0; seed < 1000; ++seed) {
    for (const char* purpose : {"", "a", "b", "tremor left", "tremor right"}) first.insert(RandomStream(seed, purpose).BitsAt(0));
  }
  EXPECT_EQ(first.size(), 5000u);
}

}  // namespace
}  // namespace dryrig
