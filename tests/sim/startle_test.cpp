#include "sim/startle.h"

#include <gtest/gtest.h>

#include <cmath>

#include "scenes/catalogue.h"
#include "sim/run.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Cast;
using testing::FewCasts;

constexpr double kLean = 0.2;
const std::vector<Startle> kOne{{3.0, Vector3d(0, -1, 0), kLean}};

bool SameBits(const BodyPose& a, const BodyPose& b) {
  return a.p_W == b.p_W && a.q_WT.coeffs() == b.q_WT.coeffs() && a.q_WHd.coeffs() == b.q_WHd.coeffs() && a.gaze_W == b.gaze_W;
}

TEST(Startle, ItsShareRisesHoldsAndFallsWithoutAKink) {
  EXPECT_EQ(StartleShare(0), 0);
  EXPECT_EQ(StartleShare(0.3), 1);
  EXPECT_EQ(StartleShare(0.7), 1);
  EXPECT_EQ(StartleShare(2.0), 0);
  constexpr double h = 1e-3;
  for (double t = -0.1; t < 2.1; t += h) {
    EXPECT_GE(StartleShare(t), 0);
    // Minimum jerk in 0.3 s: third differences stay under 60 / 0.3³ h³.
    const double third = StartleShare(t + 3 * h) - 3 * StartleShare(t + 2 * h) + 3 * StartleShare(t + h) - StartleShare(t);
    EXPECT_LT(std::abs(third), 1.01 * 60 / 0.027 * h * h * h);
  }
}

TEST(Startle, LeavesTheSameBitsBeforeAndAfter) {
  const Performance p = FewCasts().front().Perform(1);
  for (const double t : {0.0, 2.9, 3.0, 5.0, 9.0}) EXPECT_TRUE(SameBits(WithStartles(p.PoseAt(t), kOne, t), p.PoseAt(t))) << t;
  EXPECT_FALSE(SameBits(WithStartles(p.PoseAt(3.5), kOne, 3.5), p.PoseAt(3.5)));
}

TEST(Startle, TheHeadGoesAwayTheFeetAndHandsStayAndNoBoneGrows) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    for (double t = 3.0; t < 5.0; t += 0.05) {
      const BodyPose calm = p.PoseAt(t), out = WithStartles(calm, kOne, t);
      const double share = StartleShare(t - 3.0);
      const Vector3d head = calm.p_WHead() - calm.p_W[kPelvis];
      // Turned about the pelvis by the angle: a level way of z sin + (1 - cos) of what is level already.
      const double back = head.z() * std::sin(share * kLean) + head.y() * (1 - std::cos(share * kLean));
      EXPECT_NEAR(calm.p_WHead().y() - out.p_WHead().y(), back, 1e-12);
      for (const int i : {int{kPelvis}, int{kHipL}, int{kKneeR}, int{kToeL}}) {
        EXPECT_EQ(out.p_W[static_cast<size_t>(i)], calm.p_W[static_cast<size_t>(i)]);
      }
      for (const PersonCapsule& c : p.body().capsules) {
        const bool limb = c.region == "hand" || c.region == "upper arm" || c.region == "lower arm" || c.region == "face";
        if (!limb) continue;
        const auto length = [&](const BodyPose& pose) { return (pose.p_W[c.a] - pose.p_W[c.b]).norm(); };
        EXPECT_NEAR(length(out), length(calm), 1e-9) << c.name;
      }
      for (const Side side : {kLeft, kRight}) {
        const auto wrist = static_cast<size_t>(kWristL + int{side});
        // An arm that is long enough leaves its hand where it is; else the hand comes along, less far than the shoulder.
        EXPECT_LT((out.p_W[wrist] - calm.p_W[wrist]).norm(), 0.6 * kLean * share + 1e-9);
      }
    }
  }
}

TEST(Startle, OnlyWhatIsNearAndComesFastStartlesAndNotTwiceAtOnce) {
  const Performance p = FewCasts().front().Perform(1);
  const StartleSpec spec{0.7, 0.4, kLean};
  Clearance near;
  near.distance_m = 0.6;
  near.p_WArm = {0.3, 1.0, 1.4};
  near.p_WPerson = {0.3, 0.4, 1.2};
  Reaction person(p, spec);
  Clearance far = near;
  far.distance_m = 0.8;
  person.See(1.0, far, 2.0);
  person.See(1.1, near, 0.3);
  EXPECT_TRUE(person.startles().empty());
  person.See(1.2, near, 0.5);
  person.See(1.3, near, 0.5);
  ASSERT_EQ(person.startles().size(), 1u);
  EXPECT_GT(person.startles()[0].start_s, 1.2);
  EXPECT_TRUE(person.startles()[0].away_W.isApprox(Vector3d(0, -1, 0), 1e-12));
  person.See(6.0, near, 0.5);
  EXPECT_EQ(person.startles().size(), 2u);
  Reaction calm(p, {});
  calm.See(1.2, near, 5);
  EXPECT_TRUE(calm.startles().empty());
}

/// Rushes to the person's head and back, over and over.
class Rusher : public Policy {
  void DoBackToOne(const Stage&, uint64_t) override { home_.reset(); }
  Move DoDecide(const Observation& seen) override {
    if (!home_) home_ = seen.arm.X_WC;
    CameraTarget target;
    target.X_WC = *home_;
    const Vector3d way = seen.person.points[kHeadHigh].p_W - home_->translation();
    if (std::fmod(seen.t_s, 3) > 1.5) target.X_WC.translation() += (1 - 0.3 / way.norm()) * way;
    Move move;
    move.motion = target;
    move.focal_m = seen.lens.focal_m;
    return move;
  }
  std::optional<Eigen::Isometry3d> home_;
};

/// Stays where it is.
class Stander : public Policy {
  void DoBackToOne(const Stage& stage, uint64_t) override { home_ = stage.arm.home; }
  Move DoDecide(const Observation& seen) override { return {JointTarget{home_}, seen.lens.focal_m, 1, {}}; }
  Eigen::VectorXd home_;
};

TakeSetup RushSetup(const std::string& person, double max_s) {
  TakeSetup setup;
  setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
  setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)), ReadArm(FindScene(SceneKind::kArm, "heron")),
                          ReadCamera(FindScene(SceneKind::kCamera, ListScenes(SceneKind::kCamera).front())));
  setup.person = ReadPerson(FindScene(SceneKind::kPerson, person));
  setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "perfect"));
  setup.max_s = max_s;
  return setup;
}
Take Rush(const std::string& person) {
  Rusher policy;
  return RunTake(RushSetup(person, 12), policy);
}

TEST(Startle, AnArmThatRushesStartlesWhomItShouldAndTheTakeKeepsIt) {
  const Take take = Rush("brook");
  ASSERT_FALSE(take.startles.empty());
  EXPECT_TRUE(Rush("devon").startles.empty());
  // An arm that stands still startles nobody, however fast a hand comes to it.
  Stander still;
  EXPECT_TRUE(RunTake(RushSetup("brook", 60), still).startles.empty());
  // The frames are the pure performance with the take's own startles over it, bit for bit.
  const Lesson lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
  const Performance p(lesson, ReadBench(FindScene(SceneKind::kBench, lesson.bench)),
                      ReadPerson(FindScene(SceneKind::kPerson, "brook")), take.id.seed);
  bool differs = false;
  for (size_t i = 0; i < take.frames.size(); ++i) {
    const double t = static_cast<double>(i) / take.id.frame_hz;
    ASSERT_TRUE(SameBits(take.frames[i].person, WithStartles(p.PoseAt(t), take.startles, t))) << t;
    differs = differs || !SameBits(take.frames[i].person, p.PoseAt(t));
  }
  EXPECT_TRUE(differs);
}

}  // namespace
}  // namespace dryrig
