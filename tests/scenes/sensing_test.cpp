#include "scenes/sensing.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "scenes/catalogue.h"
#include "scenes/error.h"

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

auto Refused(const std::string& says) {
  return ::testing::Throws<InputError>(::testing::Property(&InputError::what, ::testing::HasSubstr(says)));
}

TEST(SensingSpelled, SetsItsKeysInTheFilesUnitsAndLeavesTheRest) {
  const Sensing good = Shipped("good"), other = FindSensing("good:noise_mm=20,hidden_is_lost=false,rate_hz=12.5");
  EXPECT_EQ(other.name, "good:noise_mm=20,hidden_is_lost=false,rate_hz=12.5");
  EXPECT_EQ(other.noise_m, 0.02);
  EXPECT_FALSE(other.hidden_is_lost);
  EXPECT_EQ(other.rate_hz, 12.5);
  EXPECT_EQ(other.title, good.title);
  EXPECT_EQ(other.bias_m, good.bias_m);
  EXPECT_EQ(other.latency_s, good.latency_s);
  EXPECT_EQ(other.orientation_noise_rad, good.orientation_noise_rad);
  EXPECT_EQ(other.word_error_rate, good.word_error_rate);
  EXPECT_EQ(FindSensing("good").text, good.text);
}

TEST(SensingSpelled, ItsTextIsAFileThatReadsBackTheSame) {
  const Sensing other = FindSensing("poor:latency_ms=317,word_error_rate=0.5");
  const Sensing again = ParseSensing(other.text, "again.yaml");
  EXPECT_EQ(again.latency_s, other.latency_s);
  EXPECT_EQ(again.word_error_rate, 0.5);
  EXPECT_EQ(again.noise_m, other.noise_m);
  EXPECT_NE(other.text, FindSensing("poor:latency_ms=318,word_error_rate=0.5").text);
}

TEST(SensingSpelled, EveryKeyOfTheFileCanBeSet) {
  const std::string as_it_is = FindSensing("good:rate_hz=30").text;
  for (const char* one :
       {"rate_hz=29", "latency_ms=1", "noise_mm=1", "bias_mm=1", "orientation_noise_deg=1", "dropout_per_s=1", "dropout_for_s=1",
        "hidden_is_lost=false", "heard_delay_s=1", "word_error_rate=1", "noise_distance_mm=900", "partly_hidden_noise=1.5",
        "swap_per_s=0.5", "swap_for_s=0.9", "missed_sentence_rate=0.5", "split_sentence_rate=0.5"}) {
    EXPECT_NE(FindSensing(std::string("good:") + one).text, as_it_is) << one;
  }
}

TEST(SensingSpelled, RefusesWhatItCannotMeanAndSaysWhy) {
  EXPECT_THAT([] { FindSensing("god:noise_mm=20"); }, Refused("did you mean \"good\""));
  EXPECT_THAT([] { FindSensing("good:nois_mm=20"); }, Refused("did you mean \"noise_mm\""));
  EXPECT_THAT([] { FindSensing("good:title=x"); }, Refused("no key \"title\""));
  EXPECT_THAT([] { FindSensing("good:noise_mm"); }, Refused("is not key=value"));
  EXPECT_THAT([] { FindSensing("good:"); }, Refused("is not key=value"));
  EXPECT_THAT([] { FindSensing("good:noise_mm=1,noise_mm=2"); }, Refused("set twice"));
  EXPECT_THAT([] { FindSensing("good:noise_mm=2000"); }, Refused("2000"));
  EXPECT_THAT([] { FindSensing("good:noise_mm=nan"); }, Refused("nan"));
  EXPECT_THAT([] { FindSensing("good:dropout_for_s=0"); }, Refused("give both above 0"));
}

}  // namespace
}  // namespace dryrig
