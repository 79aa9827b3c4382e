#include "scenes/sensing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "scenes/catalogue.h"

namespace dryrig {
namespace {

Sensing Shipped(const std::string& name) {
  return ReadSensing(FindScene(SceneKind::kSensing, name));
}

TEST(Sensing, IsReadInMetresRadiansAndSeconds) {
  const Sensing sensing = ParseSensing(
      "dryrig: sensing/1\ntitle: S\nrate_hz: 25\nlatency_ms: 40\nnoise_mm: 6\nbias_mm: 3\norientation_noise_deg: 9\n"
      "dropout_per_s: 0.1\ndropout_for_s: 0.5\nhidden_is_lost: true\nheard_delay_s: 0.75\nword_error_rate: 0.125\n",
      "s.yaml");
  EXPECT_EQ(sensing.rate_hz, 25);
  EXPECT_EQ(sensing.latency_s, 0.04);
  EXPECT_EQ(sensing.noise_m, 0.006);
  EXPECT_EQ(sensing.bias_m, 0.003);
  EXPECT_DOUBLE_EQ(sensing.orientation_noise_rad, std::numbers::pi / 20);
  EXPECT_EQ(sensing.dropout_per_s, 0.1);
  EXPECT_EQ(sensing.dropout_for_s, 0.5);
  EXPECT_TRUE(sensing.hidden_is_lost);
  EXPECT_EQ(sensing.heard_delay_s, 0.75);
  EXPECT_EQ(sensing.word_error_rate, 0.125);
}

TEST(ShippedSensing, PerfectLosesNothing) {
  const Sensing perfect = Shipped("perfect");
  EXPECT_EQ(perfect.latency_s, 0);
  EXPECT_EQ(perfect.noise_m, 0);
  EXPECT_EQ(perfect.bias_m, 0);
  EXPECT_EQ(perfect.orientation_noise_rad, 0);
  EXPECT_EQ(perfect.dropout_per_s, 0);
  EXPECT_FALSE(perfect.hidden_is_lost);
  EXPECT_EQ(perfect.heard_delay_s, 0);
  EXPECT_EQ(perfect.word_error_rate, 0);
}

TEST(ShippedSensing, PoorIsWorseThanGoodInEveryNumber) {
  const Sensing good = Shipped("good"), poor = Shipped("poor");
  EXPECT_LT(poor.rate_hz, good.rate_hz);
  EXPECT_GT(poor.latency_s, good.latency_s);
  EXPECT_GT(poor.noise_m, good.noise_m);
  EXPECT_GT(poor.bias_m, good.bias_m);
  EXPECT_GT(poor.orientation_noise_rad, good.orientation_noise_rad);
  EXPECT_GT(poor.dropout_per_s, good.dropout_per_s);
  EXPECT_GT(poor.dropout_for_s, good.dropout_for_s);
  EXPECT_GT(poor.heard_delay_s, good.heard_delay_s);
  EXPECT_GT(poor.word_error_rate, good.word_error_rate);
  EXPECT_GT(good.noise_m, 0);
}

}  // namespace
}  // namespace dryrig
