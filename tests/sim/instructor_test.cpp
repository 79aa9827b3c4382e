// What the instructor's body does in each kind of beat.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "sim/skeleton.h"
#include "tests/sim/plain_performance.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Angle;
using testing::Cast;
using testing::FewCasts;
using testing::MakeBeat;
using testing::Plain;
using testing::PlainBench;
using testing::PlainLesson;
using testing::PlainPerson;
using testing::PropAt;
using testing::ShippedCasts;
using testing::TakeUp;

constexpr double kDeg = std::numbers::pi / 180;

Vector3d Index(const BodyPose& pose, Side side, int landmark) {
  return pose.p_W[static_cast<size_t>(HandPoint(side, landmark))];
}

TEST(Instructor, KeepsEveryBoneOfTheBodyAllTheTime) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    const auto first = p.PoseAt(0).p_W;
    // Shoulders, neck and head move against the trunk; limbs and hands are rigid bones.
    for (const PersonCapsule& c : p.body().capsules) {
      const bool limb = c.region == "hand" || c.region == "upper arm" || c.region == "lower arm" || c.region == "thigh" ||
                        c.region == "lower leg" || c.region == "face" || c.region == "pelvis";
      if (!limb) continue;
      for (double t = 0; t < p.duration_s(); t += 0.37) {
        const auto now = p.PoseAt(t).p_W;
        ASSERT_NEAR((now[c.a] - now[c.b]).norm(), (first[c.a] - first[c.b]).norm(), 1e-9) << c.name << " at " << t;
      }
    }
  }
}

TEST(Instructor, NeverAsksAnArmForMoreThanItReaches) {
  for (const Cast& cast : FewCasts()) {
    const PersonBuild build = BuildPerson(cast.person, cast.bench);
    const double length = build.upper_arm + build.forearm;
    for (const uint64_t seed : {1, 2, 3}) {
      SCOPED_TRACE(cast.Name() + ", seed " + std::to_string(seed));
      const Performance p = cast.Perform(seed);
      for (double t = 0; t < p.duration_s(); t += 0.02) {
        const auto pose = p.PoseAt(t).p_W;
        for (const int side : {0, 1}) {
          const double stretch = (pose[kWristL + side] - pose[kShoulderL + side]).norm() / length;
          ASSERT_LT(stretch, kFreeStretch) << t;  // beyond, and folded tighter, targets would be drawn in
          ASSERT_GT(stretch, FreeFold(build.upper_arm, build.forearm)) << t;
        }
      }
    }
  }
}

TEST(Instructor, KeepsHandsAboveTheBench) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    double lowest = 1;
    for (double t = 0; t < p.duration_s(); t += 0.02) {
      const auto pose = p.PoseAt(t).p_W;
      for (int i = kHandL; i < kNumBodyPoints; ++i) {
        const bool over = pose[i].y() > 0 && pose[i].y() < cast.bench.depth_m && std::abs(pose[i].x()) < cast.bench.width_m / 2;
        if (over) lowest = std::min(lowest, pose[i].z() - cast.bench.height_m);
      }
    }
    EXPECT_GT(lowest, 0);
    EXPECT_LT(lowest, 0.015);  // and they do touch it
  }
}

TEST(Instructor, RestsHandsNearTheFrontEdgeWhenNotUsed) {
  const Performance p = Plain({MakeBeat(BeatKind::kAddress, "", 5)});
  const BodyPose pose = p.PoseAt(3);
  for (const Side side : {kLeft, kRight}) {
    const Vector3d tip = Index(pose, side, 12);
    EXPECT_EQ(pose.hand_in_use[side], false);
    EXPECT_GT(tip.y(), 0.05);
    EXPECT_LT(tip.y(), 0.25);
    EXPECT_NEAR(tip.z(), PlainBench().height_m, 0.02);
    EXPECT_GT((side == kRight ? 1 : -1) * tip.x(), 0.1);
  }
}

TEST(Instructor, AddressesTheCrewAcrossTheBench) {
  const Performance p = Plain({TakeUp("cube"), MakeBeat(BeatKind::kAddress, "", 4)});
  const BodyPose pose = p.PoseAt(p.beats()[1].end_s - 1);
  const Vector3d crew(0, PlainBench().depth_m + 0.4, pose.p_WHead().z());
  EXPECT_LT(Angle(pose.gaze_W, crew - pose.p_WHead()), 5 * kDeg);
  EXPECT_LT(Angle(pose.q_WHd * Vector3d::UnitY(), crew - pose.p_WHead()), 10 * kDeg);
  EXPECT_LT(Angle(pose.q_WT * Vector3d::UnitY(), Vector3d::UnitY()), 10 * kDeg);
}

TEST(Instructor, TakesAPropAndCarriesItUntilPutDown) {
  Beat put = MakeBeat(BeatKind::kPutDown, "cube");
  put.to_m = Eigen::Vector2d(0.05, 0.35);
  const Performance p = Plain({TakeUp("cube"), MakeBeat(BeatKind::kAddress, "", 2), put, MakeBeat(BeatKind::kPause, "", 1)});
  const Vector3d first(0.2, 0.25, PlainBench().height_m + 0.02), last(0.05, 0.35, PlainBench().height_m + 0.02);
  EXPECT_EQ(PropAt(p, 0), first);
  EXPECT_EQ(p.PropsAt(0)[0].carrier, -1);
  EXPECT_EQ(PropAt(p, p.duration_s()), last);
  EXPECT_EQ(p.PropsAt(p.duration_s())[0].carrier, -1);
  // In the hand: as far from thumb and index as when it was taken.
  const double taken = p.beats()[0].ready_s, laid = p.beats()[2].ready_s - 0.5;
  for (double t = taken; t < laid; t += 0.05) {
    EXPECT_EQ(p.PropsAt(t)[0].carrier, kRight);
    const BodyPose pose = p.PoseAt(t);
    const Vector3d tips = 0.5 * (Index(pose, kRight, 4) + Index(pose, kRight, 8));
    EXPECT_LT((tips - PropAt(p, t)).norm(), 0.045) << t;
  }
  EXPECT_GT((PropAt(p, 0.5 * (taken + laid)) - first).norm(), 0.02);
  EXPECT_EQ(PropAt(p, 1, 1), PropAt(p, p.duration_s(), 1));  // the other prop stays
}

TEST(Instructor, MovesPropsWithoutAJump) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    std::vector<PropPose> before = p.PropsAt(0), now;
    // At 3 m/s, faster than any reach here, a millisecond is 3 mm.
    for (double t = 0.001; t < p.duration_s(); t += 0.001) {
      p.PropsAt(t, &now);
      for (size_t i = 0; i < now.size(); ++i) {
        ASSERT_LT((now[i].X_WP.translation() - before[i].X_WP.translation()).norm(), 0.003)
            << cast.lesson.props[i].name << ' ' << t;
        ASSERT_LT((now[i].X_WP.linear() - before[i].X_WP.linear()).norm(), 0.02) << cast.lesson.props[i].name << ' ' << t;
      }
      std::swap(before, now);
    }
  }
}

TEST(Instructor, PutsAPropBackWhereItFirstLay) {
  const Performance p = Plain({TakeUp("peg", HandChoice::kOther), MakeBeat(BeatKind::kPutDown, "peg")});
  EXPECT_EQ(p.PropsAt(p.beats()[0].ready_s)[1].carrier, kLeft);
  EXPECT_EQ(PropAt(p, p.duration_s(), 1), PropAt(p, 0, 1));
}

TEST(Instructor, ClosesTheFingersOnWhatItTakes) {
  const Performance p = Plain({TakeUp("cube")});
  const auto gap = [&](double t) { return (Index(p.PoseAt(t), kRight, 4) - Index(p.PoseAt(t), kRight, 8)).norm(); };
  const double closed = gap(p.beats()[0].ready_s), before = gap(p.beats()[0].ready_s - 0.25);
  EXPECT_NEAR(closed, 0.03 + 0.014, 0.004);  // the cube, and half a finger on each side
  EXPECT_GT(before, closed + 0.02);          // opened on the way
}

TEST(Instructor, PointsAtAPropFromNearBy) {
  double squares = 0;
  const int n = 200;
  for (int seed = 1; seed <= n; ++seed) {
    const Performance p = Plain({MakeBeat(BeatKind::kPoint, "cube", 2)}, static_cast<uint64_t>(seed));
    const BodyPose pose = p.PoseAt(p.beats()[0].ready_s);
    const Vector3d tip = Index(pose, kRight, 8), to_prop = PropAt(p, 0) - tip;
    EXPECT_GT(to_prop.norm(), 0.11);
    EXPECT_LT(to_prop.norm(), 0.24);
    EXPECT_EQ(pose.hand_in_use, (std::array{false, true}));
    const double error = Angle(tip - Index(pose, kRight, 5), to_prop);
    squares += error * error;
    EXPECT_LT(error, 12 * kDeg);
    EXPECT_LT(Angle(pose.gaze_W, PropAt(p, 0) - pose.p_WHead()), 12 * kDeg);
  }
  // 3° in all; 200 draws of two angles know it to 4 %.
  EXPECT_NEAR(std::sqrt(squares / n), 3 * kDeg, 0.5 * kDeg);
}

TEST(Instructor, HoldsUpAPropBeforeTheChestAndLeavesTheFaceFree) {
  for (const Cast& cast : ShippedCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    for (size_t i = 0; i < cast.lesson.beats.size(); ++i) {
      if (cast.lesson.beats[i].kind != BeatKind::kHoldUp) continue;
      size_t prop = 0;
      while (cast.lesson.props[prop].name != cast.lesson.beats[i].prop) ++prop;
      const double t = p.beats()[i].ready_s + 0.5;
      const BodyPose pose = p.PoseAt(t);
      const Vector3d at = PropAt(p, t, prop), shoulders = 0.5 * (pose.p_W[kShoulderL] + pose.p_W[kShoulderR]);
      EXPECT_NEAR((pose.q_WT.conjugate() * (at - shoulders)).y(), 0.3, 0.08);
      EXPECT_NEAR(at.z(), shoulders.z(), 0.09);
      EXPECT_LT(at.z(), pose.p_WHead().z() - 0.5 * p.body().head_height_m);  // below the chin
      // From the crew's place at eye height no hand or prop stands before the face: 9 samples, distance of the line to bones.
      const Vector3d crew(0, cast.bench.depth_m + 0.4, pose.p_WHead().z());
      for (const Vector3d& sample : p.body().face_points) {
        const Vector3d face = pose.p_WHead() + pose.q_WHd * sample, line = (face - crew).normalized();
        for (int k = kHandL; k < kNumBodyPoints; ++k) {
          EXPECT_GT(line.cross(pose.p_W[k] - crew).norm(), 0.012) << "landmark " << k;
        }
        EXPECT_GT(line.cross(at - crew).norm(), 0.5 * cast.lesson.props[prop].shape.BoundingRadius());
      }
    }
  }
}

TEST(Instructor, TurnsTheTorsoLeftForAPositiveAngleAndBack) {
  Beat turn = MakeBeat(BeatKind::kTurn, "", 2), back = turn;
  turn.turn_rad = 40 * kDeg;
  const Performance p = Plain({turn, back});
  const Vector3d facing = p.PoseAt(p.beats()[0].end_s - 0.5).q_WT * Vector3d::UnitY();
  EXPECT_NEAR(std::atan2(-facing.x(), facing.y()), 40 * kDeg, 3 * kDeg);  // sway is below 3°
  const Vector3d face = p.PoseAt(p.beats()[0].end_s - 0.5).q_WHd * Vector3d::UnitY();
  EXPECT_NEAR(std::atan2(-face.x(), face.y()), 40 * kDeg, 8 * kDeg);  // the head goes along
  const Vector3d home = p.PoseAt(p.duration_s()).q_WT * Vector3d::UnitY();
  EXPECT_NEAR(std::atan2(-home.x(), home.y()), 0, 3 * kDeg);
}

TEST(Instructor, WorksAtTheRateAndSpanAskedFor) {
  const struct {
    WorkMotion motion;
    int axis;
  } kRows[] = {{WorkMotion::kStroke, 1}, {WorkMotion::kCircle, 0}, {WorkMotion::kTap, 2}, {WorkMotion::kStitch, 0}};
  for (const auto& row : kRows) {
    SCOPED_TRACE(std::string(ToString(row.motion)));
    Beat work = MakeBeat(BeatKind::kWork, "cube", 12);
    work.motion = row.motion;
    work.rate_hz = 1.5;
    work.span_m = 0.06;
    const Performance p = Plain({work});
    double lo = 1e9, hi = -1e9, sum = 0;
    const double from = p.beats()[0].ready_s + 1, to = p.beats()[0].end_s - 1;
    std::vector<double> x;
    for (double t = from; t < to; t += 0.01) {
      x.push_back(p.PoseAt(t).p_W[kWristR][row.axis]);
      lo = std::min(lo, x.back()), hi = std::max(hi, x.back()), sum += x.back();
    }
    const double middle = sum / static_cast<double>(x.size());
    int cycles = 0;
    for (size_t i = 1; i < x.size(); ++i) cycles += x[i - 1] < middle && x[i] >= middle;
    EXPECT_NEAR(cycles, 1.5 * (to - from), 2.5);  // 15 cycles, rate varied by up to 10 %, a cycle cut at either end
    EXPECT_NEAR(hi - lo, 0.06, 0.02);
  }
}

TEST(Instructor, TwistRollsTheForearmInPlace) {
  Beat work = MakeBeat(BeatKind::kWork, "cube", 8);
  work.motion = WorkMotion::kTwist;
  work.rate_hz = 0.8;
  const Performance p = Plain({work});
  double turned = 0, moved = 0;
  const auto across = [&](double t) {
    return Vector3d(Index(p.PoseAt(t), kRight, 17) - Index(p.PoseAt(t), kRight, 5)).normalized();
  };
  const auto grip = [&](double t) {
    const BodyPose pose = p.PoseAt(t);
    return Vector3d(0.5 * Index(pose, kRight, 4) + 0.25 * (Index(pose, kRight, 8) + Index(pose, kRight, 12)));
  };
  const double t0 = p.beats()[0].ready_s + 2;
  for (double t = t0; t < t0 + 3; t += 0.02) {
    turned = std::max(turned, Angle(across(t), across(t0)));
    moved = std::max(moved, (grip(t) - grip(t0)).norm());
  }
  EXPECT_GT(turned, 30 * kDeg);
  EXPECT_LT(moved, 0.02);
}

TEST(Instructor, SteadiesTheWorkpieceWithTheOtherHandWhenOneUsesATool) {
  Beat work = MakeBeat(BeatKind::kWork, "peg", 4);
  work.with = "cube";
  const Performance p = Plain({TakeUp("cube"), work});
  const double t = p.beats()[1].ready_s + 1;
  const BodyPose pose = p.PoseAt(t);
  EXPECT_EQ(pose.hand_in_use, (std::array{true, true}));
  EXPECT_EQ(p.PropsAt(t)[0].carrier, kRight);
  const Vector3d over = PropAt(p, t, 0) - PropAt(p, t, 1);
  EXPECT_LT(over.head<2>().norm(), 0.06);
  EXPECT_GT(over.z(), 0.04);                                           // the tool on top of the work
  EXPECT_LT((Index(pose, kLeft, 12) - PropAt(p, t, 1)).norm(), 0.16);  // the other hand beside it
}

TEST(Instructor, UsesTheOtherHandsMirrorImageWhenLeftHanded) {
  PersonSpec lefty = PlainPerson();
  lefty.left_handed = true;
  Lesson right = PlainLesson({MakeBeat(BeatKind::kReach, "cube")}), left = right;
  left.props[0].at_m.x() *= -1;
  left.props[1].at_m.x() *= -1;
  const Performance a(right, PlainBench(), PlainPerson(), 5), b(left, PlainBench(), lefty, 5);
  EXPECT_EQ(a.PoseAt(0.5).hand_in_use, (std::array{false, true}));
  EXPECT_EQ(b.PoseAt(0.5).hand_in_use, (std::array{true, false}));
  const Vector3d pa = Index(a.PoseAt(a.beats()[0].ready_s), kRight, 8), pb = Index(b.PoseAt(b.beats()[0].ready_s), kLeft, 8);
  EXPECT_NEAR((pa - Vector3d(-pb.x(), pb.y(), pb.z())).norm(), 0, 0.02);  // scatter of places and sway are no mirror images
}

TEST(Instructor, PutsDownOneThingBeforeTakingAnother) {
  const Performance p = Plain({TakeUp("cube"), TakeUp("peg")});
  const auto props = p.PropsAt(p.duration_s());
  EXPECT_EQ(props[0].carrier, -1);
  EXPECT_EQ(props[1].carrier, kRight);
  EXPECT_EQ(PropAt(p, p.duration_s(), 0), PropAt(p, 0, 0));
}

}  // namespace
}  // namespace dryrig
