// What a moment of a take shows: who runs, what was asked and chosen, which lines of sight are clear, how near the robot is.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/sim/sketch_take.h"
#include "viewer/moment.h"

namespace dryrig {
namespace {

Shot Of(SubjectKind kind, ShotSize size = ShotSize::kMedium, const std::string& prop = "") {
  Shot shot;
  shot.subjects = {{kind, prop}};
  shot.size = size;
  return shot;
}

/// The sketched scene standing still for ten frames at 10 Hz.
Take TenFrames() {
  Take take = testing::SketchTake();
  take.id.frame_hz = 10;
  take.duration_s = 1;
  for (int i = 0; i < 9; ++i) take.frames.push_back(take.frames[0]);
  return take;
}

TEST(Moment, FramesAndTicksAreTheLastThatBegan) {
  const Take take = TenFrames();
  EXPECT_EQ(FrameAt(take, 0.35), 3u);
  EXPECT_EQ(FrameAt(take, 0.3), 3u) << "0.3 s is frame 3 although 0.3 * 10 is a little less";
  EXPECT_EQ(FrameAt(take, -1), 0u);
  EXPECT_EQ(FrameAt(take, 99), 9u);
}

TEST(Moment, OfTwoIntentsTheLaterOneRuns) {
  Take take = TenFrames();
  take.intents = {{0.2, 0.8, Of(SubjectKind::kHands), 0}, {0.5, 0.8, Of(SubjectKind::kFace), 1}};
  EXPECT_EQ(IntentAt(take, 0.1), nullptr);
  EXPECT_EQ(IntentAt(take, 0.2)->beat, 0);
  EXPECT_EQ(IntentAt(take, 0.5)->beat, 1);
  EXPECT_EQ(IntentAt(take, 0.8), nullptr);
}

TEST(Moment, AChosenShotIsJudgedAgainstWhatWasAsked) {
  const TimedIntent asked{0, 1, Of(SubjectKind::kHands, ShotSize::kCloseUp), 0};
  EXPECT_EQ(MatchOf(nullptr, asked.shot), Match::kNothingAsked);
  EXPECT_EQ(MatchOf(&asked, asked.shot), Match::kSame);
  EXPECT_EQ(MatchOf(&asked, Of(SubjectKind::kHands, ShotSize::kWide)), Match::kOtherView);
  EXPECT_EQ(MatchOf(&asked, Of(SubjectKind::kFace, ShotSize::kCloseUp)), Match::kOtherSubject);
  Shot two = asked.shot;
  two.subjects.push_back({SubjectKind::kFace, ""});
  EXPECT_EQ(MatchOf(&asked, two), Match::kOtherSubject) << "more than was asked is another subject";
}

TEST(Moment, RunsOfChosenShotsCoverTheTake) {
  Take take = TenFrames();
  take.intents = {{0.4, 1, Of(SubjectKind::kFace), 0}};
  for (size_t i = 0; i < 10; ++i) take.frames[i].chosen = Of(i < 7 ? SubjectKind::kHands : SubjectKind::kFace);
  const auto runs = ChosenRuns(take);
  ASSERT_EQ(runs.size(), 3u);
  EXPECT_EQ(runs[0].match, Match::kNothingAsked);
  EXPECT_EQ(runs[1].match, Match::kOtherSubject);
  EXPECT_EQ(runs[2].match, Match::kSame);
  EXPECT_DOUBLE_EQ(runs[0].start_s, 0);
  EXPECT_DOUBLE_EQ(runs[0].end_s, 0.4);
  EXPECT_DOUBLE_EQ(runs[1].end_s, 0.7);
  EXPECT_DOUBLE_EQ(runs[2].end_s, 1);
  EXPECT_EQ(ShortName(Of(SubjectKind::kProp, ShotSize::kCloseUp, "awl")), "awl, close-up, high-angle");
}

// A camera 1 m straight above the ball, looking down, sees its upper half; a plate between hides all of it.
TEST(Moment, SightIsClearFromAboveAndBlockedByAPlateBetween) {
  Take take = TenFrames();
  TakeFrame& frame = take.frames[0];
  frame.X_WC = testing::At(-0.2, 0.3, 1.78);
  frame.X_WC.linear() = Eigen::AngleAxisd(M_PI, Eigen::Vector3d::UnitX()).toRotationMatrix();
  const Shot ball = Of(SubjectKind::kProp, ShotSize::kMedium, "ball");
  {
    SightScene scene(take);
    const SightReport report = Look(take, 0, ball, &scene);
    EXPECT_GT(report.clear, 3);
    EXPECT_EQ(report.blocked, 0);
    EXPECT_EQ(report.outside, 0);
    EXPECT_EQ(report.lines.size(), static_cast<size_t>(report.clear));
    EXPECT_NEAR(report.framing.centre.norm(), 0, 1e-6) << "right below the camera is the middle of the picture";
  }
  take.props.push_back({"plate", Shape::Box({0.2, 0.2, 0.002}), {0.5, 0.5, 0.5}});
  frame.X_WP.push_back(testing::At(-0.2, 0.3, 1.3));
  frame.carrier.push_back(-1);
  SightScene scene(take);
  const SightReport report = Look(take, 0, ball, &scene);
  EXPECT_EQ(report.clear, 0);
  EXPECT_GT(report.blocked, 3);
  ASSERT_EQ(report.blockers.size(), 1u);
  EXPECT_EQ(report.blockers[0].first, "plate");
  EXPECT_EQ(report.blockers[0].second, report.blocked);
  EXPECT_EQ(scene.NameOf(report.lines[0].blocker), "plate");

  frame.X_WC.linear().setIdentity();  // looks at the ceiling
  const SightReport away = Look(take, 0, ball, &scene);
  EXPECT_EQ(away.outside, static_cast<int>(away.lines.size()));
}

TEST(Moment, ProtectiveDistanceIsWhatTheMarginIsCountedFrom) {
  Take take = TenFrames();
  take.id.physics_hz = 10;
  take.arm_bodies = {{-1, testing::MakeBody("post", Shape::Sphere(0.1))}};
  TakeTick tick;
  tick.clearance = {0.3, 0, 0, {0, 0, 1}, {0.3, 0, 1}};
  take.ticks.assign(10, tick);
  Scorecard card;
  card.scores.resize(Metrics().size());
  for (size_t i = 0; i < Metrics().size(); ++i) {
    if (Metrics()[i].name == "separation_margin") card.scores[i].series = {10, std::vector<double>(5, -0.7)};
  }
  const auto near = NearnessAt(take, card, 0.25);
  ASSERT_TRUE(near);
  EXPECT_EQ(near->distance_m, 0.3);
  ASSERT_TRUE(near->protective_m);
  EXPECT_DOUBLE_EQ(*near->protective_m, 1.0);
  EXPECT_FALSE(NearnessAt(take, card, 0.75)->protective_m) << "the series has ended";
  EXPECT_FALSE(NearnessAt(take, {}, 0.25)->protective_m) << "an unscored take has none";
  take.ticks.assign(10, TakeTick{});
  EXPECT_FALSE(NearnessAt(take, card, 0.25)) << "no pair, no distance";
}

}  // namespace
}  // namespace dryrig
