#include "sim/skeleton.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <set>

#include "sim/motion.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::PlainBench;
using testing::PlainPerson;

constexpr double kDeg = std::numbers::pi / 180;

TEST(TwoBones, FormARightTriangleOfThreeFourFive) {
  // Arm of 4 and 3 to a point 5 away along y, joint pulled down: a right angle at the joint, 1.8 from the far end's foot.
  const TwoBones b = SolveTwoBones({0, 0, 0}, {0, 5, 0}, 4, 3, {0, 0, -1});
  EXPECT_NEAR((b.middle - Vector3d(0, 3.2, -2.4)).norm(), 0, 1e-12);
  EXPECT_NEAR((b.end - Vector3d(0, 5, 0)).norm(), 0, 1e-12);
  EXPECT_NEAR((b.hinge - Vector3d::UnitX()).norm(), 0, 1e-12);  // flexion lifts the hand in front of the body
  EXPECT_NEAR(b.stretch, 5.0 / 7, 1e-12);
}

TEST(TwoBones, KeepTheirLengthsHoweverFarOrNearTheTargetIs) {
  for (const double d : {0.01, 0.1, 0.3, 0.55, 0.57, 0.59, 0.7, 5.0}) {
    const TwoBones b = SolveTwoBones({0, 0, 0}, {0, d, 0}, 0.32, 0.26, {0, 0, -1});
    EXPECT_NEAR(b.middle.norm(), 0.32, 1e-9) << d;
    EXPECT_NEAR((b.end - b.middle).norm(), 0.26, 1e-9) << d;
    const double stretch = d / 0.58;
    if (stretch < kFreeStretch && stretch > FreeFold(0.32, 0.26)) {
      EXPECT_NEAR((b.end - Vector3d(0, d, 0)).norm(), 0, 1e-12) << d;
    }
  }
}

TEST(TwoBones, DrawInATargetOutOfReachWithoutAKink) {
  // Second differences of the end's distance jump by no more than a bounded third derivative allows, through both limits;
  // a hard clamp at the same place would jump by 1/dt.
  const double dt = 1e-4;
  const auto end = [](double d) { return SolveTwoBones({0, 0, 0}, {0, d, 0}, 0.32, 0.26, {0, 0, -1}).end.y(); };
  const auto hard = [](double d) { return std::min(d, kFreeStretch * 0.58); };
  const auto worst = [&](const auto& f) {
    double jump = 0;
    for (double d = 0.1; d < 0.8; d += dt) {
      const auto second = [&](double x) { return (f(x + dt) - 2 * f(x) + f(x - dt)) / (dt * dt); };
      jump = std::max(jump, std::abs(second(d + dt) - second(d)));
    }
    return jump;
  };
  // -2 over the width squared, the narrower limit being 0.03 of 0.58 m wide.
  EXPECT_LT(worst(end), 1.05 * 2 / std::pow(0.03 * 0.58, 2) * dt);
  EXPECT_GT(worst(hard), 1000);
}

TEST(WristAngles, ComeBackFromTheHandTheyMake) {
  const WristAngles right{1.2, -0.5, 0.15}, left{-1.2, 0.4, -0.2};
  for (const auto& [side, angles] : {std::pair{kRight, right}, std::pair{kLeft, left}}) {
    const WristAngles back = WristAnglesFor(side, HandInForearm(angles));
    EXPECT_NEAR(back.roll, angles.roll, 1e-12);
    EXPECT_NEAR(back.flex, angles.flex, 1e-12);
    EXPECT_NEAR(back.deviate, angles.deviate, 1e-12);
  }
}

TEST(WristAngles, StayInsideTheRangesOfTheAaos) {
  for (const Side side : {kLeft, kRight}) {
    for (int i = 0; i < 500; ++i) {
      const RandomStream random(static_cast<uint64_t>(i), "wrist test");
      Eigen::Quaterniond q(random.NormalAt(0), random.NormalAt(1), random.NormalAt(2), random.NormalAt(3));
      const WristAngles w = WristAnglesFor(side, q.normalized().toRotationMatrix());
      const double from_neutral = w.roll - (side == kRight ? 1 : -1) * 90 * kDeg;
      EXPECT_LE(std::abs(from_neutral), 80 * kDeg);  // pronation, supination
      EXPECT_GE(w.flex, -80 * kDeg);
      EXPECT_LE(w.flex, 70 * kDeg);
      const double radial = side == kRight ? w.deviate : -w.deviate;
      EXPECT_LE(radial, 20 * kDeg);
      EXPECT_GE(radial, -30 * kDeg);
    }
  }
}

TEST(Build, StandsOnTheFloorWithTheBellyBeforeTheBench) {
  const PersonSpec person = PlainPerson();
  const PersonBuild build = BuildPerson(person, PlainBench());
  const TrunkPose trunk = PoseTrunk(build, {});
  BodyPose pose;
  PoseLegs(build, trunk, &pose);
  const HeadPose head = PoseHead(build, trunk, {0, 50, person.eye_height_m});
  // Standing relaxed costs half a per cent of the legs.
  EXPECT_NEAR(head.middle.z(), person.eye_height_m, 0.005);
  EXPECT_NEAR(trunk.shoulder[kLeft].z(), person.shoulder_height_m, 0.005);
  EXPECT_NEAR((trunk.shoulder[kRight] - trunk.shoulder[kLeft]).x(), 2 * person.shoulder_half_breadth_m, 1e-12);
  for (const int ankle : {kAnkleL, kAnkleR}) EXPECT_NEAR(pose.p_W[ankle].z(), 0.039 * person.stature_m, 1e-9);
  const PersonBody body = MakePersonBody(build);
  for (const PersonCapsule& capsule : body.capsules) {
    if (capsule.name == "abdomen") {
      EXPECT_NEAR(trunk.pelvis.y() + capsule.radius_m, -PlainBench().standoff_m, 1e-9);
    }
  }
  EXPECT_GT(pose.p_W[kKneeL].y(), pose.p_W[kAnkleL].y());  // knees bend forwards
}

TEST(Build, SitsWithLevelThighsAndFeetOnTheFloor) {
  PersonSpec person = PlainPerson();
  person.seated = true;
  person.seat_height_m = 0.42;
  Bench bench = PlainBench();
  bench.height_m = 0.65;  // the elbows are 1 cm over it
  const PersonBuild build = BuildPerson(person, bench);
  BodyPose pose;
  PoseLegs(build, PoseTrunk(build, {}), &pose);
  const Vector3d thigh = pose.p_W[kKneeR] - pose.p_W[kHipR];
  EXPECT_LT(std::abs(std::atan2(thigh.z(), thigh.y())), 8 * kDeg);
  EXPECT_NEAR(pose.p_W[kAnkleR].z(), 0.039 * person.stature_m, 1e-9);
  EXPECT_NEAR(pose.p_W[kHipR].z(), person.seat_height_m + 0.05 * person.stature_m, 1e-12);
}

TEST(Build, RaisesASeatThatIsTooLowForTheBench) {
  PersonSpec person = PlainPerson();
  person.seated = true;
  person.seat_height_m = 0.42;
  Bench high = PlainBench();
  high.height_m = 1.0;
  // Elbows 2 cm under the top: 1.0 - 0.02 - 0.145 · 1.65 is the seat, 0.05 · 1.65 over it are the hips.
  EXPECT_NEAR(BuildPerson(person, high).p_WPelvis.z(), 0.98 - 0.145 * 1.65 + 0.05 * 1.65, 1e-12);
}

TEST(Trunk, LeansForwardsAndTurnsLeft) {
  const PersonBuild build = BuildPerson(PlainPerson(), PlainBench());
  const TrunkPose upright = PoseTrunk(build, {}), leant = PoseTrunk(build, {.lean = 0.5}), turned = PoseTrunk(build, {.turn = 1});
  EXPECT_GT(leant.neck.y(), upright.neck.y() + 0.1);
  EXPECT_LT(leant.neck.z(), upright.neck.z());
  EXPECT_NEAR((turned.R_WT.col(1) - Vector3d(-std::sin(1), std::cos(1), 0)).norm(), 0, 1e-12);
  EXPECT_GT(turned.shoulder[kRight].y(), turned.shoulder[kLeft].y());
}

TEST(YawFrame, TurnsWithThePersonAndBack) {
  const PersonBuild build = BuildPerson(PlainPerson(), PlainBench());
  const Vector3d ahead = build.p_WPelvis + Vector3d(0, 0.4, 0.1);
  const Vector3d left = YawToWorld(build, 90 * kDeg, ahead);
  EXPECT_NEAR((left - build.p_WPelvis - Vector3d(-0.4, 0, 0.1)).norm(), 0, 1e-12);
  EXPECT_NEAR((WorldToYaw(build, 90 * kDeg, left) - ahead).norm(), 0, 1e-12);
}

TEST(Head, TurnsToWhatItLooksAt) {
  const PersonBuild build = BuildPerson(PlainPerson(), PlainBench());
  const TrunkPose trunk = PoseTrunk(build, {});
  const Vector3d straight = PoseHead(build, trunk, {0, 5, 1.5}).middle;
  const auto face = [&](const Vector3d& look) {
    return Vector3d(PoseHead(build, trunk, straight + look).q_WHd * Vector3d::UnitY());
  };
  EXPECT_LT(std::acos(face({0, 2, 0}).y()), 1 * kDeg);
  EXPECT_LT(face({-1, 2, 0}).x(), -0.2);
  EXPECT_GT(face({1, 2, 0}).x(), 0.2);
  EXPECT_LT(face({0, 1, -1}).z(), -0.3);
  // Far to the side and behind the neck stays inside 60°.
  for (const double azimuth : {1.5, 2.5, 3.0}) {
    const Vector3d f = face({2 * std::sin(azimuth), 2 * std::cos(azimuth), 0});
    EXPECT_LT(std::abs(std::atan2(f.x(), f.y())), 60 * kDeg);
  }
}

TEST(PersonBody, HasNamedCapsulesOfEveryRegion) {
  const PersonBody body = MakePersonBody(BuildPerson(PlainPerson(), PlainBench()));
  std::set<std::string> names, regions;
  for (const PersonCapsule& c : body.capsules) {
    EXPECT_TRUE(names.insert(c.name).second) << c.name;
    regions.insert(c.region);
    EXPECT_GT(c.radius_m, 0.003);
    EXPECT_LT(c.radius_m, 0.2);
    EXPECT_GE(c.a, 0);
    EXPECT_LT(c.b, static_cast<int>(kNumBodyPoints));
  }
  const std::set<std::string> expected{"face",      "neck",      "back", "chest", "abdomen",  "pelvis",
                                       "upper arm", "lower arm", "hand", "thigh", "lower leg"};
  EXPECT_EQ(regions, expected);
  for (const char* name : {"left forearm", "right index tip", "head", "left thumb root"})
    EXPECT_TRUE(names.contains(name)) << name;
  // Every landmark of both hands ends a bone.
  for (int point = kHandL; point < kNumBodyPoints; ++point) {
    bool found = false;
    for (const PersonCapsule& c : body.capsules) found = found || c.a == point || c.b == point;
    EXPECT_TRUE(found) << point;
  }
}

TEST(PersonBody, LaysTheFaceJustOutsideTheHead) {
  const PersonBuild build = BuildPerson(PlainPerson(), PlainBench());
  const PersonBody body = MakePersonBody(build);
  EXPECT_GE(body.face_points.size(), 9u);
  const double core = 0.5 * build.head_height - build.head_radius;
  for (const Vector3d& p : body.face_points) {
    const Vector3d nearest(0, 0, std::clamp(p.z(), -core, core));
    const double outside = (p - nearest).norm() - build.head_radius;
    EXPECT_GE(outside, 0.001 - 1e-9);
    EXPECT_LE(outside, 0.002 + 1e-9);
    EXPECT_GT(p.y(), 0.2 * build.head_height);            // in front
    EXPECT_LT(std::abs(p.z()), 0.5 * build.head_height);  // between chin and crown
  }
}

}  // namespace
}  // namespace dryrig
