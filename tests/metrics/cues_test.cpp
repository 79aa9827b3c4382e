#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

using ::testing::HasSubstr;

/// Hands until 6 s, then the face until 12 s; the camera goes from one's view to the other's `late_s` after the change.
TakeBuilder TwoIntents(double late_s) {
  TakeBuilder b;
  b.duration_s = 12;
  b.Ask(0, 6, HandsShot()).Ask(6, 12, FaceShot());
  const Eigen::Isometry3d hands = b.ViewOf(HandsShot()), face = b.ViewOf(FaceShot());
  b.camera = [=](double t_s) { return t_s < 6 + late_s - 1e-9 ? hands : face; };
  b.chosen = [=](double t_s) { return t_s < 6 + late_s - 1e-9 ? HandsShot() : FaceShot(); };
  return b;
}

TEST(Response, IsTheTimeUntilFramingHolds) {
  for (const double late_s : {0.0, 0.4, 2.0}) {
    const Take take = TwoIntents(late_s).Build();
    EXPECT_NEAR(ValueOf(take, "response_s"), late_s / 2, 1e-9) << "mean with the first intent's 0";
    EXPECT_DOUBLE_EQ(ValueOf(take, "response_missed"), 0);
    EXPECT_NEAR(ValueOf(take, "cue_delay_s"), late_s / 2, 1e-9);
  }
}

TEST(Response, IsCappedAtTheIntentsLengthWhenNeverReached) {
  const Take take = TwoIntents(100).Build();
  EXPECT_NEAR(ValueOf(take, "response_s"), 3, 1e-9);  // 0 and 6 s
  EXPECT_DOUBLE_EQ(ValueOf(take, "response_missed"), 0.5);
  EXPECT_EQ(ScoreOf(take, "response_missed").worst_what, "medium of face, eye-level");
  EXPECT_THAT(ScoreOf(take, "response_s").worst_what, HasSubstr("never"));
}

TEST(Response, DoesNotCountAGlimpse) {
  TakeBuilder b = TwoIntents(100);
  const Eigen::Isometry3d hands = b.ViewOf(HandsShot()), face = b.ViewOf(FaceShot());
  for (const double glimpse_s : {0.49, 0.51}) {
    b.camera = [=](double t_s) { return t_s < 8 || t_s > 8 + glimpse_s ? hands : face; };
    EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "response_missed"), glimpse_s < 0.5 ? 0.5 : 0) << glimpse_s;
  }
}

TEST(Response, LeavesOutIntentsThatWereHardlyRecorded) {
  TakeBuilder b = TwoIntents(0);
  b.duration_s = 6.2;
  EXPECT_NEAR(ValueOf(b.Build(), "response_s"), 0, 1e-9);
  b.duration_s = 5;  // the second intent lies after the take's end
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "response_missed"), 0);
}

TEST(CueReading, PrecisionIsOfScoredTimeRecallOfIntents) {
  const Take late = TwoIntents(3.0).Build();
  // Scored: 1.5–6 s (135 frames) and 7.5–12 s (135); wrong from 7.5 to 9 s (45).
  EXPECT_NEAR(ValueOf(late, "cue_precision"), 225.0 / 270, 1e-12);
  EXPECT_DOUBLE_EQ(ValueOf(late, "cue_recall"), 1);
  const Take later = TwoIntents(4.0).Build();  // 60 of 135 right... 75 wrong: less than half
  EXPECT_DOUBLE_EQ(ValueOf(later, "cue_recall"), 0.5);
  EXPECT_EQ(ScoreOf(later, "cue_recall").worst_what, "medium of face, eye-level");
  EXPECT_THAT(ScoreOf(later, "cue_precision").worst_what, HasSubstr("instead of medium of face"));
}

TEST(CueReading, ComparesSubjectsInAnyOrderAndNothingElse) {
  const Subject hands{SubjectKind::kHands, ""}, awl{SubjectKind::kProp, "awl"}, hook{SubjectKind::kProp, "hook"};
  TakeBuilder b;
  b.Place("awl", Shape::Sphere(0.02)).Place("hook", Shape::Sphere(0.02));
  Shot asked = HandsShot();
  asked.subjects = {hands, awl};
  b.Ask(0, 6, asked);
  const auto precision = [&](std::vector<Subject> subjects) {
    Shot chosen = HandsShot(ShotSize::kWide, ShotAngle::kOverhead);
    chosen.subjects = std::move(subjects);
    b.chosen = [=](double) { return chosen; };
    return ValueOf(b.Build(), "cue_precision");
  };
  EXPECT_DOUBLE_EQ(precision({awl, hands}), 1);
  EXPECT_DOUBLE_EQ(precision({hands}), 0);
  EXPECT_DOUBLE_EQ(precision({hands, hook}), 0);
  EXPECT_DOUBLE_EQ(precision({hands, awl, hook}), 0);
}

}  // namespace
}  // namespace dryrig::testing
