#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "metrics/contact_limits.h"
#include "scenes/error.h"
#include "tests/metrics/take_builder.h"

namespace dryrig::testing {
namespace {

// 0.8 m, dipping to 0.1 m at 3 s.
double Dip(double t_s) {
  return 0.8 - 0.7 * std::exp(-std::pow((t_s - 3) / 0.2, 2));
}

TEST(ClosestApproach, NamesPairTimeAndDistance) {
  TakeBuilder b;
  b.distance = Dip;
  b.capsule = [i = b.CapsuleNamed("right index3")](double) { return i; };
  const Score score = ScoreOf(b.Build(), "closest_approach");
  EXPECT_NEAR(score.value.value(), 0.1, 1e-12);
  EXPECT_NEAR(score.worst_t_s.value(), 3, 1e-9);
  EXPECT_EQ(score.worst_what, "right index3 – camera");
  EXPECT_EQ(score.series.values.size(), 6u * 240 + 1);
}

TEST(ClosestApproach, FifthPercentileIsOfAllTicks) {
  TakeBuilder b;
  b.distance = [](double t_s) { return 0.2 + 0.1 * t_s; };  // evenly from 0.2 to 0.8 m
  EXPECT_NEAR(ValueOf(b.Build(), "closest_approach_p5"), 0.23, 1e-9);
}

// The arm passes a resting hand at 0.3 m/s: at the closest moment the gap does not close, yet they pass at 0.3 m/s.
TEST(ClosestApproach, SpeedIsTheRelativeOne) {
  TakeBuilder b;
  b.distance = Dip;
  b.capsule = [i = b.CapsuleNamed("right index3")](double) { return i; };
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  b.camera = [=](double t_s) { return Eigen::Translation3d(0.3 * (t_s - 3), 0, 0) * X_WC; };
  b.lens = [](double) { return LensState{0.018, 1}; };
  EXPECT_NEAR(ValueOf(b.Build(), "approach_speed"), 0.3, 1e-9);
  // The hand goes along: no relative speed. It comes toward the arm: twice.
  for (const double factor : {1.0, -1.0}) {
    b.pose = [=](double t_s, BodyPose* pose) {
      for (Eigen::Vector3d& p : pose->p_W) p.x() += factor * 0.3 * (t_s - 3);
    };
    EXPECT_NEAR(ValueOf(b.Build(), "approach_speed"), factor > 0 ? 0 : 0.6, 1e-9);
  }
}

TEST(SeparationMargin, OfAStillArmIsDistanceLessReactionAndConstants) {
  // 1.6 m/s · 0.1 s + 0.20 + 0.10 + 0.05 m = 0.51 m.
  EXPECT_NEAR(ValueOf(TakeBuilder{}.Build(), "separation_margin"), 0.8 - 0.51, 1e-12);
}

TEST(SeparationMargin, GrowsWithSpeedAndStoppingTime) {
  TakeBuilder b;
  const Eigen::Isometry3d X_WC = b.ViewOf(HandsShot());
  b.camera = [=](double t_s) { return Eigen::Translation3d(0.5 * t_s, 0, 0) * X_WC; };
  b.lens = [](double) { return LensState{0.018, 1}; };
  b.qd = [](double) { return Eigen::Vector2d(1.0, -1.0); };  // 1 rad/s at 5 and 10 rad/s²: the slower stops after 0.2 s
  const double want = 1.6 * (0.1 + 0.2) + 0.5 * 0.1 + 0.5 * 0.5 * 0.2 + 0.35;
  EXPECT_NEAR(ValueOf(b.Build(), "separation_margin"), 0.8 - want, 1e-6);
}

TEST(SeparationMargin, IsNullWhereAMovingJointHasNoAccelerationLimit) {
  TakeBuilder b;
  b.qd = [](double) { return Eigen::Vector2d(1, 0); };
  Take take = b.Build();
  take.joints[0].acceleration = 0;
  EXPECT_FALSE(ScoreOf(take, "separation_margin").value);
}

TEST(ContactSpeedMargin, IsNullForAnArmThatKeepsAway) {
  EXPECT_FALSE(ScoreOf(TakeBuilder{}.Build(), "contact_speed_margin").value);
}

TEST(ContactSpeedMargin, IsThePermissibleSpeedLessTheApproach) {
  TakeBuilder b;
  b.distance = [](double) { return 0.3; };
  b.approach = [](double t_s) { return t_s < 3 ? 0.25 : -1.0; };
  b.capsule = [i = b.CapsuleNamed("left index2")](double) { return i; };
  // Hand, 12 kg of robot: 1.3525 m/s (ISO/TS 15066 Annex A via a public copy, computed).
  EXPECT_NEAR(ValueOf(b.Build(), "contact_speed_margin"), 1.3525 - 0.25, 1e-4);
  EXPECT_EQ(ScoreOf(b.Build(), "contact_speed_margin").worst_what, "left index2 – camera");
}

TEST(ContactSpeedMargin, AcceptsNoContactWithTheHead) {
  TakeBuilder b;
  b.capsule = [i = b.CapsuleNamed("head")](double) { return i; };
  b.distance = [](double) { return 0.3; };
  EXPECT_NEAR(ValueOf(b.Build(), "contact_speed_margin"), 0.1871, 1e-4) << "near: the quasi-static limit";
  b.distance = [](double) { return -0.001; };
  b.approach = [](double) { return 0.01; };
  EXPECT_NEAR(ValueOf(b.Build(), "contact_speed_margin"), -0.01, 1e-12) << "touching";
}

TEST(Contacts, CountsEpisodesNotTicks) {
  TakeBuilder b;
  EXPECT_DOUBLE_EQ(ValueOf(b.Build(), "contacts"), 0);
  EXPECT_FALSE(ScoreOf(b.Build(), "contact_force").value);
  // Touches in [1, 1.2], after a gap of 50 ms until 1.3, and again at 4 s.
  b.distance = [](double t_s) {
    const bool touches = (t_s >= 1 && t_s < 1.2) || (t_s >= 1.25 && t_s < 1.3) || (t_s >= 4 && t_s < 4.01);
    return touches ? 0.0 : 0.2;
  };
  b.approach = [](double t_s) { return t_s < 2 ? 0.1 : 0.3; };
  b.capsule = [i = b.CapsuleNamed("left index2")](double) { return i; };
  const Score contacts = ScoreOf(b.Build(), "contacts");
  EXPECT_DOUBLE_EQ(contacts.value.value(), 2);
  EXPECT_NEAR(contacts.worst_t_s.value(), 1, 1e-9);
  const Score force = ScoreOf(b.Build(), "contact_force");
  // 0.3 m/s of 1.3525 m/s that give twice 140 N.
  EXPECT_NEAR(force.value.value(), 280 * 0.3 / 1.3525, 0.01);
  EXPECT_NEAR(force.worst_t_s.value(), 4, 1e-9);
}

TEST(ContactLimits, NameAnUnknownRegion) {
  EXPECT_THAT([] { FindContactRegion("elbow"); }, ::testing::ThrowsMessage<RunError>(::testing::HasSubstr("elbow")));
}

TEST(ContactLimits, KnowEveryRegionOfAPerson) {
  const SketchPerson person = MakeSketchPerson();
  for (const PersonCapsule& capsule : person.body.capsules) EXPECT_NO_THROW(FindContactRegion(capsule.region)) << capsule.name;
}

}  // namespace
}  // namespace dryrig::testing
