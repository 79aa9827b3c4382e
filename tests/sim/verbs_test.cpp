// Glances, things passed from hand to hand, steps away from the bench, things on shelves, tools with tips.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>

#include "sim/arm_world.h"
#include "sim/skeleton.h"
#include "tests/sim/plain_performance.h"
#include "tests/sim/shipped_cast.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Angle;
using ::testing::HasSubstr;
using testing::MakeBeat;
using testing::Plain;
using testing::PlainBench;
using testing::PlainLesson;
using testing::PlainPerson;
using testing::PropAt;
using testing::TakeUp;
using ::testing::ThrowsMessage;

constexpr double kDeg = std::numbers::pi / 180;

Beat GlanceTo(GlanceAt at, const std::string& prop = "") {
  Beat beat = MakeBeat(BeatKind::kGlance, prop, 2);
  beat.glance_at = at;
  return beat;
}
Beat Pass(const std::string& prop, HandChoice hand = HandChoice::kDominant) {
  Beat beat = MakeBeat(BeatKind::kPass, prop);
  beat.hand = hand;
  return beat;
}
Vector3d Index(const BodyPose& pose, Side side, int landmark) {
  return pose.p_W[static_cast<size_t>(HandPoint(side, landmark))];
}
/// Left positive.
double Yaw(const Eigen::Quaterniond& q) {
  const Vector3d y = q * Vector3d::UnitY();
  return std::atan2(-y.x(), y.y());
}
/// Greatest jump between neighbouring second differences about `t`, m/s².
double JumpAbout(const std::function<Vector3d(double)>& at, double t, double dt) {
  double worst = 0;
  for (int i = -10; i <= 6; ++i) {
    const double s = t + i * dt;
    worst = std::max(worst, (at(s + 3 * dt) - 3 * at(s + 2 * dt) + 3 * at(s + dt) - at(s)).norm());
  }
  return worst / (dt * dt);
}

TEST(GlanceVerb, EyesAndHeadGoThereAndTheHandsStay) {
  const double eye_z = Plain({MakeBeat(BeatKind::kPause, "", 1)}).PoseAt(0).p_WHead().z();
  const struct {
    Beat glance;
    double head_yaw;  // rough: the head does most of it, short of the neck's range
  } kRows[] = {{GlanceTo(GlanceAt::kLeft), 45 * kDeg},
               {GlanceTo(GlanceAt::kRight), -45 * kDeg},
               {GlanceTo(GlanceAt::kCamera), 0},
               {GlanceTo(GlanceAt::kProp, "peg"), 14 * kDeg}};
  for (const auto& row : kRows) {
    const Performance p = Plain({TakeUp("cube"), row.glance});
    SCOPED_TRACE(p.beats()[1].label);
    const double t = p.beats()[1].ready_s + 1;
    const BodyPose pose = p.PoseAt(t), before = p.PoseAt(p.beats()[0].end_s);
    EXPECT_NEAR(Yaw(pose.q_WHd), row.head_yaw, 12 * kDeg);
    if (row.glance.glance_at == GlanceAt::kProp) {
      EXPECT_LT(Angle(pose.gaze_W, PropAt(p, t, 1) - pose.p_WHead()), 12 * kDeg);
    } else {
      EXPECT_NEAR(pose.gaze_W.z(), 0, 0.1) << "as high as the eyes, " << eye_z << " m";
    }
    for (int k = kHandL; k < kNumBodyPoints; ++k) {
      // Sway of the shoulders turns a hand by fractions of a degree.
      EXPECT_LT((pose.p_W[static_cast<size_t>(k)] - before.p_W[static_cast<size_t>(k)]).norm(), 0.004) << k;
    }
    EXPECT_EQ(pose.hand_in_use, (std::array{false, false}));
    EXPECT_EQ(p.PropsAt(t)[0].carrier, kRight);
  }
}

TEST(PassVerb, TheThingChangesHandsInTheAirWithoutAJump) {
  for (const bool left_handed : {false, true}) {
    for (const char* prop_name : {"cube", "peg"}) {
      for (const HandChoice hand : {HandChoice::kDominant, HandChoice::kOther}) {
        PersonSpec person = PlainPerson();
        person.left_handed = left_handed;
        const Performance p =
            Plain({TakeUp(prop_name, hand), Pass(prop_name, hand), MakeBeat(BeatKind::kPause, "", 1)}, 3, person);
        const size_t prop = std::string(prop_name) == "cube" ? 0 : 1;
        SCOPED_TRACE(std::string(prop_name) + (left_handed ? " left-handed" : ""));
        const Side from = (hand == HandChoice::kDominant) != left_handed ? kRight : kLeft;
        const Side to = from == kRight ? kLeft : kRight;
        EXPECT_EQ(p.PropsAt(p.beats()[1].start_s)[prop].carrier, from);
        EXPECT_EQ(p.PropsAt(p.beats()[1].ready_s)[prop].carrier, to);
        EXPECT_EQ(p.PropsAt(p.duration_s())[prop].carrier, to);
        EXPECT_EQ(p.PoseAt(p.beats()[1].ready_s - 0.1).hand_in_use, (std::array{true, true}));

        // In the air, before the chest.
        const double met = p.beats()[1].ready_s - 0.22;
        const BodyPose pose = p.PoseAt(met);
        const Vector3d at = PropAt(p, met, prop);
        EXPECT_GT(at.z(), PlainBench().height_m + 0.1);
        EXPECT_LT(std::abs(at.x()), 0.05);
        EXPECT_NEAR((pose.q_WT.conjugate() * (at - pose.p_W[kThorax])).y(), 0.3, 0.12);

        // Held by one hand or the other all the time, and never dropped or jerked.
        const auto where = [&](double t) { return PropAt(p, t, prop); };
        for (double t = p.beats()[0].ready_s; t < p.beats()[2].start_s; t += 0.01) {
          const PropPose now = p.PropsAt(t)[prop];
          ASSERT_GE(now.carrier, 0) << t;
          const Side holder = static_cast<Side>(now.carrier);
          const BodyPose body = p.PoseAt(t);
          const Vector3d tips = 0.5 * (Index(body, holder, 4) + Index(body, holder, 8));
          ASSERT_LT((tips - now.X_WP.translation()).norm(), 0.055) << t;
        }
        for (double t = p.beats()[1].start_s; t < p.beats()[1].end_s; t += 0.004) {
          ASSERT_LT((where(t + 0.001) - where(t)).norm(), 0.003) << t;
        }
        for (const double t : {met - 0.24, met, p.beats()[1].ready_s}) {
          // Ten times finer steps: a tenth of the jump, down to rounding (8 · 2⁻⁵² m over dt²).
          EXPECT_LT(JumpAbout(where, t, 1e-5), 0.2 * JumpAbout(where, t, 1e-4) + 1e-4) << t;
        }
        // The giver lets go.
        const auto gap = [&](double t) { return (Index(p.PoseAt(t), from, 4) - Index(p.PoseAt(t), from, 8)).norm(); };
        EXPECT_GT(gap(p.beats()[1].end_s), gap(p.beats()[1].start_s) + 0.02);
      }
    }
  }
}

TEST(PassVerb, TheJumpCheckRejectsAThingThatIsSnatched) {
  const Performance p = Plain({TakeUp("cube"), Pass("cube")});
  const double t0 = p.beats()[1].ready_s - 0.3;
  const auto snatched = [&](double t) -> Vector3d {
    return PropAt(p, t) + (t < t0 ? 0 : 0.5 * (t - t0) * (t - t0)) * Vector3d::UnitX();
  };
  EXPECT_GT(JumpAbout(snatched, t0, 1e-5), 0.2 * JumpAbout(snatched, t0, 1e-4) + 1e-4);
}

TEST(StepBackVerb, ThePersonLeavesTheBenchAndComesBack) {
  for (const bool seated : {false, true}) {
    SCOPED_TRACE(seated ? "seated" : "standing");
    PersonSpec person = PlainPerson();
    person.seated = seated;
    Beat step = MakeBeat(BeatKind::kStepBack, "", 2);
    step.back_m = 0.6;
    const Performance p = Plain({TakeUp("cube"), step, MakeBeat(BeatKind::kPause, "", 1)}, 2, person);
    const BodyPose before = p.PoseAt(0), away = p.PoseAt(p.beats()[1].ready_s + 1), after = p.PoseAt(p.duration_s());
    for (const int point : {static_cast<int>(kPelvis), static_cast<int>(kAnkleL), static_cast<int>(kToeR)}) {
      const auto k = static_cast<size_t>(point);
      EXPECT_NEAR(away.p_W[k].y(), before.p_W[k].y() - 0.6, 0.01);  // sway
      EXPECT_NEAR(away.p_W[k].z(), before.p_W[k].z(), 0.005);
      EXPECT_NEAR(after.p_W[k].y(), before.p_W[k].y(), 0.01);
    }
    // The hands hang before the body, clear of the bench, and keep what they hold.
    for (int k = kHandL; k < kNumBodyPoints; ++k) {
      EXPECT_LT(away.p_W[static_cast<size_t>(k)].y(), -0.1);
      EXPECT_GT(away.p_W[static_cast<size_t>(k)].y(), away.p_W[kPelvis].y());
    }
    EXPECT_EQ(p.PropsAt(p.beats()[1].ready_s + 1)[0].carrier, kRight);
    EXPECT_LT((PropAt(p, p.beats()[1].ready_s + 1) - Index(away, kRight, 8)).norm(), 0.05);
    double lowest = 1;
    for (double t = p.beats()[1].start_s; t < p.beats()[1].end_s; t += 0.02) {
      const BodyPose pose = p.PoseAt(t);
      for (int k = kHandL; k < kNumBodyPoints; ++k) {
        const Vector3d& at = pose.p_W[static_cast<size_t>(k)];
        if (at.y() > 0) lowest = std::min(lowest, at.z() - PlainBench().height_m);
      }
    }
    EXPECT_GT(lowest, 0);
  }
}

Bench ShelvedBench() {
  Bench bench = PlainBench();
  Body shelf{"side", Shape::Box({0.15, 0.2, 0.06}), Eigen::Isometry3d::Identity()};
  shelf.X_LS.translation() = Vector3d(0.75, 0.25, bench.height_m + 0.06);  // stands on the bench, 12 cm high
  bench.shelves = bench.keep_out = {shelf};
  return bench;
}
Lesson ShelvedLesson(std::vector<Beat> beats) {
  Lesson lesson = PlainLesson(std::move(beats));
  Prop tin = testing::BoxProp("tin", 0.72, 0.22, {0.05, 0.04, 0.06});
  tin.on = "side";
  tin.yaw_rad = 0.3;
  lesson.props.push_back(tin);
  return lesson;
}

TEST(Shelf, AThingIsFetchedFromItWithATurnAndPutBack) {
  Beat down = MakeBeat(BeatKind::kPutDown, "tin"), back = down;
  down.to_m = Eigen::Vector2d(0.1, 0.3);
  const Performance p(ShelvedLesson({TakeUp("tin"), down, MakeBeat(BeatKind::kAddress, "", 2), TakeUp("tin"), back}),
                      ShelvedBench(), PlainPerson(), 1);
  const double top = PlainBench().height_m;
  EXPECT_LT((PropAt(p, 0, 2) - Vector3d(0.72, 0.22, top + 0.12 + 0.03)).norm(), 1e-12);
  EXPECT_LT(Yaw(p.PoseAt(p.beats()[0].ready_s).q_WT), -20 * kDeg);  // turned right, to the shelf
  EXPECT_LT((PropAt(p, p.beats()[1].end_s, 2) - Vector3d(0.1, 0.3, top + 0.03)).norm(), 1e-12);
  EXPECT_NEAR(Yaw(Eigen::Quaterniond(p.PropsAt(p.beats()[1].end_s)[2].X_WP.linear())), 0.3, 1e-9);  // lies as it lay
  EXPECT_NEAR(Yaw(p.PoseAt(p.beats()[2].ready_s + 1).q_WT), 0, 3 * kDeg);
  EXPECT_EQ(PropAt(p, p.duration_s(), 2), PropAt(p, 0, 2));
  EXPECT_NEAR(Yaw(Eigen::Quaterniond(p.PropsAt(p.duration_s())[2].X_WP.linear())), 0.3, 1e-9);

  // The hand and what it carries clear shelf and bench on the way.
  const Body shelf = ShelvedBench().shelves[0];
  for (double t = 0; t < p.duration_s(); t += 0.01) {
    const BodyPose pose = p.PoseAt(t);
    for (int k = kHandL; k < kNumBodyPoints; ++k) {
      const Vector3d in = (pose.p_W[static_cast<size_t>(k)] - shelf.X_LS.translation()).cwiseAbs() - shelf.shape.half_m;
      ASSERT_GT(in.maxCoeff(), 0) << "landmark " << k << " at " << t;
    }
  }
}

TEST(Shelf, ThePhysicsWorldCarriesWhatLiesOnIt) {
  Stage stage = test::MakeTestStage(test::SixAxes());
  Body shelf{"side", Shape::Box({0.1, 0.1, 0.05}), Eigen::Isometry3d::Identity()};
  shelf.X_LS.translation() = Vector3d(-0.6, 0.2, stage.bench.height_m + 0.3);  // in the air, so that nothing else holds it
  stage.bench.shelves = {shelf};
  Prop tin = testing::BoxProp("tin", -0.6, 0.2, {0.05, 0.04, 0.06});
  tin.on = "side";
  ArmWorld world(stage, {tin}, stage.arm.home, 240);
  const Vector3d rest(-0.6, 0.2, stage.bench.height_m + 0.35 + 0.03);
  EXPECT_LT((world.X_WP(0).translation() - rest).norm(), 1e-12);
  std::vector<PropPose> poses(1);
  poses[0].X_WP = Eigen::Translation3d(rest + Vector3d(0, 0, 0.05));  // let go of above it
  poses[0].carrier = kLeft;
  world.Step(test::Hold(stage.arm.home), poses);
  poses[0].carrier = -1;
  for (int i = 0; i < 3 * 240; ++i) world.Step(test::Hold(stage.arm.home), poses);
  EXPECT_LT((world.X_WP(0).translation() - rest).norm(), 5e-4);
}

TEST(Shelf, AMissingOneIsNamed) {
  const auto perform = [] { Performance(ShelvedLesson({TakeUp("tin")}), PlainBench(), PlainPerson(), 1); };
  EXPECT_THAT(perform, ThrowsMessage<InputError>(HasSubstr("bench plain-bench has no shelf \"side\"")));
}

TEST(Tip, TheToolWorksWithItsTip) {
  Beat work = MakeBeat(BeatKind::kWork, "peg", 4);
  work.with = "rod";
  work.motion = WorkMotion::kTap;
  work.span_m = 0.002;
  Lesson lesson = PlainLesson({TakeUp("rod"), work});
  Prop rod = testing::BoxProp("rod", 0.25, 0.3, {0.16, 0.02, 0.02});
  rod.tip_m = Vector3d(-0.08, 0, -0.01);
  lesson.props.push_back(rod);
  lesson.props[0].at_m = {0.35, 0.4};  // out of the way
  const Performance p(lesson, PlainBench(), PlainPerson(), 1);
  const double t = p.beats()[1].ready_s;
  const auto props = p.PropsAt(t);
  const Vector3d top = props[1].X_WP.translation() + Vector3d(0, 0, 0.03);
  EXPECT_LT((props[2].X_WP * *rod.tip_m - top).norm(), 0.006);
}

TEST(Fidget, APersonWhoFidgetsGlancesAndShiftsWithoutMovingTheHands) {
  PersonSpec calm = PlainPerson(), fidgety = calm;
  fidgety.fidget = 1;
  const std::vector<Beat> beats{TakeUp("cube"), MakeBeat(BeatKind::kAddress, "", 40)};
  const Performance a = Plain(beats, 5, calm), b = Plain(beats, 5, fidgety), again = Plain(beats, 5, fidgety);
  double hips = 0, head = 0, hands = 0;
  for (double t = a.beats()[1].ready_s; t < a.beats()[1].end_s; t += 0.05) {
    const BodyPose pa = a.PoseAt(t), pb = b.PoseAt(t);
    hips = std::max(hips, (pa.p_W[kPelvis] - pb.p_W[kPelvis]).norm());
    head = std::max(head, pa.q_WHd.angularDistance(pb.q_WHd));
    for (int k = kHandL; k < kNumBodyPoints; ++k) {
      hands = std::max(hands, (pa.p_W[static_cast<size_t>(k)] - pb.p_W[static_cast<size_t>(k)]).norm());
    }
    ASSERT_EQ(pb.p_W[kHeadLow], again.PoseAt(t).p_W[kHeadLow]);
  }
  EXPECT_GT(hips, 0.01);
  EXPECT_GT(head, 15 * kDeg);
  EXPECT_LT(hands, 0.008);
  EXPECT_EQ(a.duration_s(), b.duration_s());  // the calm person's timing is not touched
}

}  // namespace
}  // namespace dryrig
