#include "sim/sight.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/sim/shipped_cast.h"
#include "tests/sim/sketch_take.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::At;

int CapsuleNamed(const Take& take, const std::string& name) {
  for (size_t i = 0; i < take.person.capsules.size(); ++i) {
    if (take.person.capsules[i].name == name) return static_cast<int>(i);
  }
  return -1;
}

SubjectSample Landmark(const Take& take, int point) {
  int body = 0;
  while (take.person.capsules[body].a != point && take.person.capsules[body].b != point) ++body;
  return {take.frames[0].person.p_W[point], body, true, point};
}

struct Look {
  explicit Look(const Take& of) : take(of), scene(take) { scene.SetFrame(take.frames[0]); }
  std::string Blocker(const Vector3d& p_WC, const SubjectSample& sample) const {
    return scene.NameOf(scene.FirstBlocker(p_WC, sample));
  }
  Take take;
  SightScene scene;
};

const Vector3d kAbove(0, 0.3, 1.6), kBelow(0, 0.3, 0.3);

TEST(Sight, AHandSeenFromAboveIsClear) {
  const Look look(testing::SketchTake());
  for (const int base : {kHandL, kHandR}) {
    for (int i = 0; i < kHandLandmarks; ++i) EXPECT_EQ(look.Blocker(kAbove, Landmark(look.take, base + i)), "") << i;
  }
}

TEST(Sight, TheBenchHidesAHandFromBelow) {
  const Look look(testing::SketchTake());
  const int body = look.scene.FirstBlocker(kBelow, Landmark(look.take, kHandL + 8));
  EXPECT_EQ(look.scene.NameOf(body), "bench");
  EXPECT_EQ(look.scene.KindOf(body, kLeft), Blocker::kBench);
}

TEST(Sight, ABallBetweenHidesAndBesideOrBehindDoesNot) {
  Take take = testing::SketchTake();
  const SubjectSample tip = Landmark(take, kHandL + 8);
  const Vector3d way = (tip.p_W - kAbove).normalized();
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.4 * way));
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "ball");
  // The ball has 40 mm radius: its rim is where the sight line passes.
  const Vector3d side = way.unitOrthogonal();
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.4 * way + 0.0399 * side));
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "ball");
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.4 * way + 0.0401 * side));
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "");
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove - 0.1 * way));  // behind the camera
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "");
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(tip.p_W + 0.06 * way));  // behind the finger
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "");
}

TEST(Sight, TheFirstOfSeveralIsNamed) {
  Take take = testing::SketchTake();
  const SubjectSample tip = Landmark(take, kHandR + 8);
  const Vector3d way = (tip.p_W - kAbove).normalized();
  take.frames[0].X_WP[0] = Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.5 * way));
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.3 * way));
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "ball");
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.6 * way));
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "box");
}

TEST(Sight, ABodyThatHoldsTheCameraHidesAll) {
  Take take = testing::SketchTake();
  take.frames[0].X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(kAbove));
  EXPECT_EQ(Look(take).Blocker(kAbove, Landmark(take, kHandL + 5)), "ball");
}

TEST(Sight, TheWristBelongsToHandAndForearm) {
  const Take take = testing::SketchTake();
  // From under the elbow along the forearm: the wrist is met through its own forearm.
  const Vector3d wrist = take.frames[0].person.p_W[kWristL], elbow = take.frames[0].person.p_W[kElbowL];
  const Vector3d from = wrist + 0.1 * (elbow - wrist).normalized() + Vector3d(0, 0, 0.2);
  EXPECT_EQ(Look(take).Blocker(from, Landmark(take, kHandL)), "");
  EXPECT_EQ(Look(take).Blocker(from, Landmark(take, kWristL)), "");
}

TEST(Sight, AFingerHidesTheFingerBehindIt) {
  const Take take = testing::SketchTake();
  // Along the row of fingers: the index hides the middle's tip.
  const SubjectSample middle = Landmark(take, kHandL + 12);
  const Vector3d index = take.frames[0].person.p_W[kHandL + 8];
  const Vector3d from = middle.p_W + 0.05 * (index - middle.p_W).normalized();  // between the hands
  const Look look(take);
  const int body = look.scene.FirstBlocker(from, middle);
  EXPECT_EQ(look.scene.NameOf(body), "left index3");
  EXPECT_EQ(look.scene.KindOf(body, kLeft), Blocker::kSameHand);
  EXPECT_EQ(look.scene.KindOf(body, kRight), Blocker::kOtherHand);
  EXPECT_EQ(look.scene.KindOf(body, -1), Blocker::kOtherHand);
}

TEST(Sight, AFaceIsSeenFromTheFrontAndHiddenByItsHeadFromBehind) {
  const Take take = testing::SketchTake();
  const Look look(take);
  std::vector<SubjectSample> face;
  Shot shot;
  shot.subjects = {{SubjectKind::kFace, ""}};
  SubjectSamples(take, take.frames[0], shot, &face);
  for (const SubjectSample& sample : face) {
    EXPECT_EQ(look.Blocker({0, 1, 1.25}, sample), "");
    const int body = look.scene.FirstBlocker({0, -1, 1.25}, sample);
    EXPECT_EQ(look.scene.NameOf(body), "head");
    EXPECT_EQ(look.scene.KindOf(body, -1), Blocker::kHead);
  }
}

// Whoever addresses the camera is seen from brow to chin: no part of the trunk stands before the face.
TEST(Sight, EveryShippedPersonsFaceIsWholeFromWhereItLooks) {
  for (const testing::Cast& cast : testing::ShippedCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance performance = cast.Perform(1);
    const auto address = std::find_if(performance.beats().begin(), performance.beats().end(), [&](const TimedBeat& beat) {
      return cast.lesson.beats[static_cast<size_t>(beat.beat)].kind == BeatKind::kAddress;
    });
    ASSERT_NE(address, performance.beats().end());
    Take take = testing::SketchTake();
    take.person = performance.body();
    TakeFrame& frame = take.frames[0];
    frame.person = performance.PoseAt(0.5 * (address->ready_s + address->end_s));
    const Look look(take);
    std::vector<SubjectSample> face;
    Shot shot;
    shot.subjects = {{SubjectKind::kFace, ""}};
    SubjectSamples(take, frame, shot, &face);
    const Eigen::Vector3d before = frame.person.p_WHead() + frame.person.q_WHd * Eigen::Vector3d(0, 1, 0);
    for (size_t i = 0; i < face.size(); ++i) EXPECT_EQ(look.Blocker(before, face[i]), "") << "face sample " << i;
  }
}

// The far side of a head of two capsules is hidden; the near side is not hidden by the other capsule's skin.
TEST(Sight, AHeadOfSeveralCapsulesIsOneBody) {
  Take take = testing::SketchTake();
  take.person.capsules.push_back({"skull", kHeadHigh, kHeadHigh, 0.0905, "skull"});
  const Look look(take);
  const Vector3d head = take.frames[0].person.p_W[kHeadHigh];
  const SubjectSample brow{head + Vector3d(0, 0.09, 0), CapsuleNamed(take, "head"), false,
                           -1};  // half a millimetre inside the skull
  EXPECT_EQ(look.Blocker(head + Vector3d(0, 1, 0), brow), "");
  EXPECT_NE(look.Blocker(head - Vector3d(0, 1, 0), brow), "");
}

TEST(Sight, ASurfacePointIsHiddenByItsOwnBodyFromTheFarSide) {
  const Take take = testing::SketchTake();
  const Look look(take);
  const SubjectSample top{Vector3d(0, 0.3, 0.84), look.scene.PropBody(0), false, -1};
  EXPECT_EQ(look.Blocker(kAbove, top), "");
  EXPECT_EQ(look.Blocker({0, 0.3, 0.5}, top), "bench");   // the bench is met first
  EXPECT_EQ(look.Blocker({0, 1.2, 0.78}, top), "box");    // from the side and below its top
  EXPECT_EQ(look.Blocker({0, 1.2, 0.8400001}, top), "");  // grazing
  // Up to 3 mm of its own skin do not hide it; 4 mm do.
  EXPECT_EQ(look.Blocker(kAbove, {Vector3d(0, 0.3, 0.8375), look.scene.PropBody(0), false, -1}), "");
  EXPECT_EQ(look.Blocker(kAbove, {Vector3d(0, 0.3, 0.8360), look.scene.PropBody(0), false, -1}), "box");
}

TEST(Sight, AThingOnTheBenchIsNotHiddenByWhatItTouches) {
  const Take take = testing::SketchTake();
  const Look look(take);
  const SubjectSample foot{Vector3d(0.06, 0.34, 0.74), look.scene.PropBody(0), false, -1};  // bottom corner, on the bench
  EXPECT_EQ(look.Blocker({0.5, 0.8, 1.2}, foot), "");
}

TEST(Sight, TheArmHidesButItsOwnCameraDoesNot) {
  Take take = testing::SketchTake();
  take.X_WB = At(0, 0.6, 0.74);
  const SubjectSample tip = Landmark(take, kHandL + 8);
  const Vector3d way = (tip.p_W - kAbove).normalized();
  take.arm_bodies = {{-1, testing::MakeBody("base", Shape::Cylinder(0.05, 0.05), At(0, 0, 0.05))},
                     {0, testing::MakeBody("forearm", Shape::Capsule(0.04, 0.2))},
                     {0, testing::MakeBody("camera", Shape::Box({0.06, 0.04, 0.06}), At(0, 0, -0.05))}};
  take.frames[0].X_WL = {Eigen::Isometry3d(Eigen::Translation3d(kAbove))};
  EXPECT_EQ(Look(take).scene.size(), int(take.person.capsules.size()) + 3 + 1 + 2);
  EXPECT_EQ(Look(take).Blocker(kAbove + 0.3 * way, tip), "");
  take.frames[0].X_WL = {Eigen::Isometry3d(Eigen::Translation3d(kAbove + 0.5 * way))};
  const Look look(take);
  EXPECT_EQ(look.Blocker(kAbove, tip), "forearm");
  EXPECT_EQ(look.scene.KindOf(look.scene.FirstBlocker(kAbove, tip), kLeft), Blocker::kRobot);
  const SubjectSample bench{Vector3d(0, 0.6, 0.74), look.scene.CapsuleBody(0) + int(take.person.capsules.size()) + 3, false, -1};
  EXPECT_EQ(look.Blocker({0, 0.6, 1.9}, bench), "base");
}

TEST(Sight, FixturesHideAndZonesDoNot) {
  Take take = testing::SketchTake();
  const SubjectSample tip = Landmark(take, kHandL + 8);
  const Vector3d way = (tip.p_W - kAbove).normalized();
  const Eigen::Isometry3d between(Eigen::Translation3d(kAbove + 0.4 * way));
  take.keep_out = {testing::MakeBody("zone-over-head", Shape::Box({0.1, 0.1, 0.1}), between)};
  EXPECT_EQ(Look(take).Blocker(kAbove, tip), "");
  take.keep_out.push_back(testing::MakeBody("lamp", Shape::Cylinder(0.05, 0.05), between));
  const Look look(take);
  EXPECT_EQ(look.Blocker(kAbove, tip), "lamp");
  EXPECT_EQ(look.scene.KindOf(look.scene.FirstBlocker(kAbove, tip), kLeft), Blocker::kBench);
}

TEST(Sight, EveryBodyHasItsKind) {
  const Take take = testing::SketchTake();
  const Look look(take);
  const auto kind = [&](const std::string& name, int hand) { return look.scene.KindOf(CapsuleNamed(take, name), hand); };
  EXPECT_EQ(kind("left upper arm", kLeft), Blocker::kOwnArm);
  EXPECT_EQ(kind("right forearm", kLeft), Blocker::kOwnArm);
  EXPECT_EQ(kind("head", kLeft), Blocker::kHead);
  EXPECT_EQ(kind("neck", kLeft), Blocker::kHead);
  for (const char* name : {"chest", "abdomen", "pelvis", "left thigh", "right foot"})
    EXPECT_EQ(kind(name, kLeft), Blocker::kTorso) << name;
  EXPECT_EQ(kind("left thumb0", kLeft), Blocker::kSameHand);
  EXPECT_EQ(kind("left thumb0", kRight), Blocker::kOtherHand);
  EXPECT_EQ(kind("right little3", kLeft), Blocker::kOtherHand);
  EXPECT_EQ(look.scene.KindOf(look.scene.PropBody(1), kLeft), Blocker::kProp);
  EXPECT_EQ(look.scene.NameOf(look.scene.PropBody(1)), "can");
  EXPECT_EQ(look.scene.KindOf(-1, kLeft), Blocker::kNone);
  EXPECT_EQ(look.scene.NameOf(-1), "");
}

TEST(Sight, AFrameReplacesTheLastWholly) {
  Take take = testing::SketchTake();
  const SubjectSample tip = Landmark(take, kHandL + 8);
  TakeFrame moved = take.frames[0];
  moved.X_WP[2] = Eigen::Isometry3d(Eigen::Translation3d(0.5 * (kAbove + tip.p_W)));
  SightScene scene(take);
  scene.SetFrame(moved);
  EXPECT_EQ(scene.NameOf(scene.FirstBlocker(kAbove, tip)), "ball");
  scene.SetFrame(take.frames[0]);
  EXPECT_EQ(scene.FirstBlocker(kAbove, tip), -1);
}

}  // namespace
}  // namespace dryrig
