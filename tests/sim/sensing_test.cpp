#include "sim/sensing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "scenes/catalogue.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

struct Scene {
  Lesson lesson;
  Bench bench;
  PersonSpec person;
};

Scene ShippedScene() {
  Scene scene;
  scene.lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
  scene.bench = ReadBench(FindScene(SceneKind::kBench, scene.lesson.bench));
  scene.person = ReadPerson(FindScene(SceneKind::kPerson, scene.lesson.person));
  return scene;
}

class SensingTest : public ::testing::Test {
 protected:
  SensingTest() : scene_(ShippedScene()), performance_(scene_.lesson, scene_.bench, scene_.person, 3) {}
  Sensors Make(const Sensing& how, uint64_t seed = 3) { return Sensors(how, scene_.lesson, scene_.bench, performance_, seed); }

  Scene scene_;
  Performance performance_;
};

Sensing Clean() {
  Sensing how;
  how.name = "clean";
  how.rate_hz = 30;
  return how;
}

TEST_F(SensingTest, PerfectIsTheTruthAtTheLatestSample) {
  const Sensing perfect = ReadSensing(FindScene(SceneKind::kSensing, "perfect"));
  Sensors sensors = Make(perfect);
  for (int tick = 0; tick < 300; ++tick) {
    const double t_s = tick / 30.0;
    sensors.Sense(t_s);
    // The tracker's rate is a multiple of the policy's: every tick finds a sample of that very instant.
    EXPECT_NEAR(sensors.person().stamp_s, t_s, 1e-12);
    const BodyPose truth = performance_.PoseAt(sensors.person().stamp_s);
    for (int point = 0; point < kNumBodyPoints; ++point) {
      const TrackedPoint& tracked = sensors.person().points[static_cast<size_t>(point)];
      ASSERT_TRUE(tracked.seen);
      ASSERT_EQ(tracked.p_W, truth.p_W[static_cast<size_t>(point)]);
      ASSERT_NEAR(tracked.age_s, 0, 1e-12);
    }
    EXPECT_EQ(sensors.person().q_WHd.coeffs(), truth.q_WHd.coeffs());
    const auto props = performance_.PropsAt(sensors.person().stamp_s);
    for (size_t i = 0; i < props.size(); ++i) EXPECT_EQ(sensors.props()[i].p_WP, props[i].X_WP.translation());
  }
}

TEST_F(SensingTest, PropsCarryTheirNamesAndBoundingDiameters) {
  Sensors sensors = Make(Clean());
  sensors.Sense(0);
  ASSERT_EQ(sensors.props().size(), scene_.lesson.props.size());
  for (size_t i = 0; i < scene_.lesson.props.size(); ++i) {
    EXPECT_EQ(sensors.props()[i].name, scene_.lesson.props[i].name);
    EXPECT_DOUBLE_EQ(sensors.props()[i].extent_m, 2 * scene_.lesson.props[i].shape.BoundingRadius());
  }
}

TEST_F(SensingTest, ASampleArrivesOneLatencyAfterItWasTakenAndNotBefore) {
  Sensing how = Clean();
  how.rate_hz = 20;
  how.latency_s = 0.08;
  Sensors sensors = Make(how);
  sensors.Sense(1.0 + 0.08 - 1e-6);
  EXPECT_DOUBLE_EQ(sensors.person().stamp_s, 0.95);
  EXPECT_NEAR(sensors.person().points[kHeadLow].age_s, 0.13 - 1e-6, 1e-12);
  sensors.Sense(1.0 + 0.08);
  EXPECT_DOUBLE_EQ(sensors.person().stamp_s, 1.0);
  EXPECT_EQ(sensors.person().points[kHeadLow].p_W, performance_.PoseAt(1.0).p_W[kHeadLow]);
}

TEST_F(SensingTest, NoiseAndBiasHaveTheSpreadOfThePreset) {
  Sensing how = ReadSensing(FindScene(SceneKind::kSensing, "good"));
  how.hidden_is_lost = false;
  how.dropout_per_s = how.swap_per_s = 0;
  how.noise_distance_m = 0;
  how.partly_hidden_noise = 1;
  Sensors sensors = Make(how);
  constexpr int kSamples = 600;
  std::array<Eigen::Vector3d, kNumBodyPoints> mean;
  mean.fill(Eigen::Vector3d::Zero());
  std::vector<std::array<Eigen::Vector3d, kNumBodyPoints>> errors(kSamples);
  double turn_squared = 0;
  for (int k = 0; k < kSamples; ++k) {
    sensors.Sense(k / how.rate_hz);
    const BodyPose truth = performance_.PoseAt(sensors.person().stamp_s);
    for (size_t i = 0; i < mean.size(); ++i) {
      errors[static_cast<size_t>(k)][i] = sensors.person().points[i].p_W - truth.p_W[i];
      mean[i] += errors[static_cast<size_t>(k)][i] / kSamples;
    }
    turn_squared += std::pow(truth.q_WT.angularDistance(sensors.person().q_WT), 2) / (3 * kSamples);
  }
  double within = 0, between = 0;
  for (size_t i = 0; i < mean.size(); ++i) {
    for (const auto& sample : errors) within += (sample[i] - mean[i]).squaredNorm();
    between += mean[i].squaredNorm();
  }
  const double values = 3.0 * static_cast<int>(kNumBodyPoints);
  const double noise = std::sqrt(within / (values * (kSamples - 1)));
  const double bias = std::sqrt(between / values);
  // A standard deviation from n values has a relative standard error of 1/sqrt(2n); four of them are allowed.
  EXPECT_NEAR(noise, how.noise_m, how.noise_m * 4 / std::sqrt(2 * values * kSamples));
  EXPECT_NEAR(bias, how.bias_m, how.bias_m * 4 / std::sqrt(2 * values) + 4 * how.noise_m / std::sqrt(kSamples));
  EXPECT_NEAR(std::sqrt(turn_squared), how.orientation_noise_rad, how.orientation_noise_rad * 4 / std::sqrt(2.0 * 3 * kSamples));
}

// The tracker stands over the middle of the bench's far edge, 1.3 m above the top.
TEST_F(SensingTest, NoiseGrowsWithTheSquareOfTheDistance) {
  Sensing even = Clean(), grows = Clean();
  even.noise_m = grows.noise_m = 0.01;
  grows.noise_distance_m = 1.2;
  Sensors a = Make(even), b = Make(grows);
  const Eigen::Vector3d p_WV(0, scene_.bench.depth_m, scene_.bench.height_m + 1.3);
  for (int k = 0; k < 60; ++k) {
    a.Sense(k / 30.0);
    b.Sense(k / 30.0);
    const BodyPose truth = performance_.PoseAt(k / 30.0);
    for (size_t i = 0; i < kNumBodyPoints; ++i) {
      const Eigen::Vector3d here = a.person().points[i].p_W - truth.p_W[i], there = b.person().points[i].p_W - truth.p_W[i];
      EXPECT_NEAR(there.norm() / here.norm(), (truth.p_W[i] - p_WV).squaredNorm() / (1.2 * 1.2), 1e-6);
    }
  }
}

TEST_F(SensingTest, PointsJustPastAnotherLimbAreNoisierByTheStatedTimes) {
  Sensing even = Clean(), guesses = Clean();
  even.noise_m = guesses.noise_m = 0.01;
  guesses.partly_hidden_noise = 3;
  Sensors a = Make(even), b = Make(guesses);
  int clear = 0, guessed = 0;
  for (int k = 0; k / 30.0 < performance_.duration_s(); ++k) {
    a.Sense(k / 30.0);
    b.Sense(k / 30.0);
    const BodyPose truth = performance_.PoseAt(k / 30.0);
    for (size_t i = 0; i < kNumBodyPoints; ++i) {
      const double times = (b.person().points[i].p_W - truth.p_W[i]).norm() / (a.person().points[i].p_W - truth.p_W[i]).norm();
      (times < 2 ? clear : guessed) += 1;
      EXPECT_NEAR(times, times < 2 ? 1 : 3, 1e-6);
    }
  }
  EXPECT_GT(guessed, 20);
  EXPECT_GT(clear, 10 * guessed);
}

TEST_F(SensingTest, SwappedArmsTradePlacesAndNothingElseDoes) {
  Sensing how = Clean();
  how.swap_per_s = 10;
  how.swap_for_s = 30;  // nearly always
  Sensors sensors = Make(how);
  int swapped = 0;
  for (int k = 0; k < 300; ++k) {
    sensors.Sense(k / 30.0);
    const BodyPose truth = performance_.PoseAt(k / 30.0);
    const auto& points = sensors.person().points;
    const bool swap = points[kWristL].p_W != truth.p_W[kWristL];
    swapped += swap;
    for (const int left : {int{kElbowL}, int{kWristL}}) {
      EXPECT_EQ(points[static_cast<size_t>(left)].p_W, truth.p_W[static_cast<size_t>(left + (swap ? 1 : 0))]);
      EXPECT_EQ(points[static_cast<size_t>(left + 1)].p_W, truth.p_W[static_cast<size_t>(left + (swap ? 0 : 1))]);
    }
    for (int i = 0; i < kHandLandmarks; ++i) {
      const auto left = static_cast<size_t>(HandPoint(kLeft, i)), right = static_cast<size_t>(HandPoint(kRight, i));
      EXPECT_EQ(points[left].p_W, truth.p_W[swap ? right : left]);
      EXPECT_EQ(points[right].p_W, truth.p_W[swap ? left : right]);
    }
    for (const int same : {int{kPelvis}, int{kHeadHigh}, int{kShoulderL}, int{kShoulderR}, int{kKneeL}, int{kToeR}}) {
      EXPECT_EQ(points[static_cast<size_t>(same)].p_W, truth.p_W[static_cast<size_t>(same)]);
    }
  }
  EXPECT_GT(swapped, 200);
}

TEST_F(SensingTest, NoiseIsWhite) {
  Sensing how = Clean();
  how.noise_m = 0.01;
  Sensors sensors = Make(how);
  constexpr int kSamples = 2000;
  Eigen::Vector3d before = Eigen::Vector3d::Zero();
  double lag = 0, power = 0;
  for (int k = 0; k < kSamples; ++k) {
    sensors.Sense(k / how.rate_hz);
    const Eigen::Vector3d error =
        sensors.person().points[kWristR].p_W - performance_.PoseAt(sensors.person().stamp_s).p_W[kWristR];
    lag += error.dot(before);
    power += error.squaredNorm();
    before = error;
  }
  // Correlation of n independent pairs: standard error 1/sqrt(n); four of them.
  EXPECT_LT(std::abs(lag / power), 4 / std::sqrt(3.0 * kSamples));
}

TEST_F(SensingTest, NoiseDependsOnTheSampleAloneNotOnWhenItIsAskedFor) {
  const Sensing how = ReadSensing(FindScene(SceneKind::kSensing, "good"));
  Sensors fine = Make(how), coarse = Make(how);
  for (int k = 0; k <= 90; ++k) fine.Sense(k / 30.0);
  for (int k = 0; k <= 30; ++k) coarse.Sense(k / 10.0);
  for (size_t i = 0; i < kNumBodyPoints; ++i) EXPECT_EQ(fine.person().points[i].p_W, coarse.person().points[i].p_W);
  Sensors other = Make(how, 4);
  other.Sense(3.0);
  EXPECT_NE(other.person().points[kHeadLow].p_W, fine.person().points[kHeadLow].p_W);
}

TEST_F(SensingTest, LossesOfThePersonHaveTheStatedRateAndLength) {
  Sensing how = Clean();
  how.dropout_per_s = 0.2;
  how.dropout_for_s = 0.5;
  double lost_s = 0, watched_s = 0;
  int losses = 0;
  for (uint64_t seed = 1; seed <= 40; ++seed) {
    Sensors sensors = Make(how, seed);
    bool before = true;
    for (int k = 0; k / how.rate_hz < performance_.duration_s(); ++k) {
      sensors.Sense(k / how.rate_hz);
      const bool seen = sensors.person().seen;
      losses += before && !seen;
      lost_s += seen ? 0 : 1 / how.rate_hz;
      watched_s += 1 / how.rate_hz;
      before = seen;
      EXPECT_EQ(sensors.person().points[kPelvis].seen, seen);
      if (!seen) {
        EXPECT_GT(sensors.person().points[kPelvis].age_s, 0);
      }
    }
  }
  // Losses and seen spans alternate: share lost = m / (1/r + m). Losses shorter than a sample may go unseen, which lowers the
  // count, not the share; a Poisson count's standard error is its root.
  const double share = how.dropout_for_s / (1 / how.dropout_per_s + how.dropout_for_s);
  const double expected = watched_s / (1 / how.dropout_per_s + how.dropout_for_s);
  EXPECT_NEAR(lost_s / watched_s, share, share * 4 * std::sqrt(2 / expected));
  EXPECT_NEAR(losses, expected, 4 * std::sqrt(expected) + 0.07 * expected);
}

// The tracker looks down over the bench's far edge: crossed or joined hands and a leaning head hide fingers at times, never
// mostly. Which lesson has such a moment is the instructor's affair, so all are watched.
TEST_F(SensingTest, HiddenHandsAreLostAndKeepTheirLastPlace) {
  Sensing how = Clean();
  how.rate_hz = 10;
  how.hidden_is_lost = true;
  int hidden = 0, all = 0;
  for (const testing::Cast& cast : testing::FewCasts()) {
    const Performance performance = cast.Perform(3);
    Sensors sensors(how, cast.lesson, cast.bench, performance, 3);
    std::array<Eigen::Vector3d, kNumBodyPoints> last;
    for (int k = 0; k / how.rate_hz < performance.duration_s(); ++k) {
      sensors.Sense(k / how.rate_hz);
      for (size_t i = kHandL; i < kNumBodyPoints; ++i) {
        const TrackedPoint& point = sensors.person().points[i];
        ++all;
        if (!point.seen) {
          ++hidden;
          if (k > 0 && std::isfinite(point.age_s)) {
            EXPECT_EQ(point.p_W, last[i]);
          }
        }
        last[i] = point.p_W;
      }
    }
  }
  EXPECT_GT(hidden, 100);
  EXPECT_LT(hidden, all / 3);
  ::testing::Test::RecordProperty("hidden", hidden);
  how.hidden_is_lost = false;
  Sensors open = Make(how);
  open.Sense(10);
  for (const TrackedPoint& point : open.person().points) EXPECT_TRUE(point.seen);
}

TEST_F(SensingTest, SentencesAreHeardAfterTheirLastWordByTheRecognisersDelay) {
  Sensing how = Clean();
  how.heard_delay_s = 0.6;
  Sensors sensors = Make(how);
  ASSERT_FALSE(performance_.sentences().empty());
  std::set<double> ends;
  for (const Sentence& sentence : performance_.sentences()) ends.insert(sentence.end_s);
  sensors.Sense(*ends.begin());
  EXPECT_TRUE(sensors.heard().empty());
  sensors.Sense(performance_.duration_s() + 5);
  ASSERT_EQ(sensors.heard().size(), performance_.sentences().size());
  double before = 0;
  for (const HeardSentence& heard : sensors.heard()) {
    EXPECT_TRUE(ends.contains(heard.end_s));
    EXPECT_NEAR(heard.heard_s - heard.end_s, 0.6, 0.2 * 0.6 + 1e-12);
    EXPECT_GE(heard.heard_s, before);
    before = heard.heard_s;
  }
}

TEST_F(SensingTest, WithoutErrorsWordsAreHeardAsSpokenAndInTime) {
  Sensors sensors = Make(Clean());
  sensors.Sense(performance_.duration_s() + 1);
  ASSERT_EQ(sensors.heard().size(), performance_.sentences().size());
  for (size_t i = 0; i < sensors.heard().size(); ++i) {
    EXPECT_EQ(sensors.heard()[i].text, performance_.sentences()[i].text);
    EXPECT_EQ(sensors.heard()[i].heard_s, performance_.sentences()[i].end_s);
  }
}

size_t CountWords(const std::string& text) {
  size_t words = 0;
  bool inside = false;
  for (const char c : text) {
    words += !inside && c != ' ';
    inside = c != ' ';
  }
  return words;
}

TEST_F(SensingTest, HalfOfTheWordErrorsLoseAWord) {
  Sensing how = Clean();
  how.word_error_rate = 0.4;
  double spoken = 0, heard = 0;
  for (uint64_t seed = 1; seed <= 60; ++seed) {
    Sensors sensors = Make(how, seed);
    sensors.Sense(performance_.duration_s() + 1);
    for (const Sentence& sentence : performance_.sentences()) spoken += static_cast<double>(CountWords(sentence.text));
    for (const HeardSentence& sentence : sensors.heard()) heard += static_cast<double>(CountWords(sentence.text));
  }
  // A binomial share of n words: standard error sqrt(p (1-p) / n); four of them.
  EXPECT_NEAR(heard / spoken, 0.8, 4 * std::sqrt(0.2 * 0.8 / spoken));
}

TEST_F(SensingTest, MissedSentencesAreNotHeardAndOthersStayAsTheyAre) {
  Sensing how = Clean();
  how.missed_sentence_rate = 0.3;
  double spoken = 0, heard = 0;
  for (uint64_t seed = 1; seed <= 60; ++seed) {
    Sensors sensors = Make(how, seed);
    sensors.Sense(performance_.duration_s() + 1);
    spoken += static_cast<double>(performance_.sentences().size());
    heard += static_cast<double>(sensors.heard().size());
    for (const HeardSentence& sentence : sensors.heard()) {
      EXPECT_TRUE(std::any_of(performance_.sentences().begin(), performance_.sentences().end(),
                              [&](const Sentence& s) { return s.text == sentence.text; }));
    }
  }
  EXPECT_NEAR(heard / spoken, 0.7, 4 * std::sqrt(0.3 * 0.7 / spoken));  // four standard errors of a binomial share
}

TEST_F(SensingTest, SplitSentencesComeInTwoPartsThatMakeTheWhole) {
  Sensing how = Clean();
  how.split_sentence_rate = 1;
  Sensors sensors = Make(how);
  sensors.Sense(performance_.duration_s() + 1);
  const auto heard = sensors.heard();
  size_t at = 0;
  for (const Sentence& sentence : performance_.sentences()) {
    if (CountWords(sentence.text) < 4) continue;  // too short for two parts
    while (at < heard.size() && !sentence.text.starts_with(heard[at].text)) ++at;
    ASSERT_LT(at + 1, heard.size()) << sentence.text;
    EXPECT_EQ(heard[at].text + ' ' + heard[at + 1].text, sentence.text);
    EXPECT_GT(heard[at].end_s, sentence.start_s);
    EXPECT_LT(heard[at].end_s, heard[at + 1].end_s);
    EXPECT_EQ(heard[at + 1].end_s, sentence.end_s);
    ++at;
  }
}

TEST_F(SensingTest, EveryShippedPresetIsDeterministic) {
  for (const std::string& name : ListScenes(SceneKind::kSensing)) {
    SCOPED_TRACE(name);
    const Sensing how = ReadSensing(FindScene(SceneKind::kSensing, name));
    Sensors a = Make(how), b = Make(how);
    for (int k = 0; k < 150; ++k) {
      a.Sense(k / 30.0);
      b.Sense(k / 30.0);
      for (size_t i = 0; i < kNumBodyPoints; ++i) ASSERT_EQ(a.person().points[i].p_W, b.person().points[i].p_W);
    }
  }
}

}  // namespace
}  // namespace dryrig
