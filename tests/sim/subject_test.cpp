#include "sim/subject.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <set>

#include "sim/distance.h"
#include "tests/sim/random_solids.h"
#include "tests/sim/sketch_take.h"

namespace dryrig {
namespace {

using Eigen::Quaterniond;
using Eigen::Vector3d;

Shot ShotOf(std::vector<Subject> subjects) {
  Shot shot;
  shot.subjects = std::move(subjects);
  return shot;
}
const Subject kTheFace{SubjectKind::kFace, ""}, kTheHands{SubjectKind::kHands, ""}, kTheBench{SubjectKind::kBench, ""};
Subject PropOf(const std::string& name) {
  return {SubjectKind::kProp, name};
}

std::vector<SubjectSample> SamplesOf(const Take& take, const std::vector<Subject>& subjects) {
  std::vector<SubjectSample> samples;
  SubjectSamples(take, take.frames[0], ShotOf(subjects), &samples);
  return samples;
}

TEST(SubjectSamples, HandsInUseAloneAreSampled) {
  Take take = testing::SketchTake();
  EXPECT_EQ(SamplesOf(take, {kTheHands}).size(), 42u);  // none in use: both
  take.frames[0].person.hand_in_use = {true, true};
  EXPECT_EQ(SamplesOf(take, {kTheHands}).size(), 42u);
  take.frames[0].person.hand_in_use = {false, true};
  const auto right = SamplesOf(take, {kTheHands});
  ASSERT_EQ(right.size(), 21u);
  for (int i = 0; i < 21; ++i) {
    EXPECT_EQ(right[i].landmark, HandPoint(kRight, i));
    EXPECT_EQ(right[i].p_W, take.frames[0].person.p_W[HandPoint(kRight, i)]);
    EXPECT_TRUE(right[i].inside);
    const PersonCapsule& own = take.person.capsules[right[i].body];
    EXPECT_TRUE(own.a == right[i].landmark || own.b == right[i].landmark);
  }
}

TEST(SubjectSamples, TheFaceTurnsWithTheHead) {
  Take take = testing::SketchTake();
  auto& person = take.frames[0].person;
  person.q_WHd = Eigen::AngleAxisd(std::numbers::pi / 2, Vector3d::UnitZ());  // looks to its left, along -x
  const auto samples = SamplesOf(take, {kTheFace});
  ASSERT_EQ(samples.size(), take.person.face_points.size());
  for (const SubjectSample& sample : samples) {
    EXPECT_LT(sample.p_W.x(), person.p_WHead().x());
    EXPECT_EQ(take.person.capsules[sample.body].name, "head");
    EXPECT_FALSE(sample.inside);
    EXPECT_EQ(sample.landmark, -1);
  }
}

TEST(SubjectSamples, PropsAreSampledOnTheirSurfaceAllAround) {
  RandomStream random(1, "props");
  for (const ShapeKind kind : testing::kAllKinds) {
    Take take = testing::SketchTake();
    take.props[1].shape = testing::RandomShape(&random, kind);
    take.frames[0].X_WP[1] = testing::RandomPose(&random, 1);
    const auto samples = SamplesOf(take, {PropOf("can")});
    ASSERT_EQ(samples.size(), 14u);
    Vector3d mean = Vector3d::Zero();
    std::set<std::array<double, 3>> different;
    for (const SubjectSample& sample : samples) {
      EXPECT_EQ(sample.body, int(take.person.capsules.size()) + 1);
      EXPECT_FALSE(sample.inside);
      const Vector3d p_S = take.frames[0].X_WP[1].inverse() * sample.p_W;
      if (kind != ShapeKind::kHull) {
        EXPECT_NEAR(testing::PointDistance(take.props[1].shape, p_S), 0, 1e-12);
      }
      mean += p_S / 14;
      different.insert({sample.p_W.x(), sample.p_W.y(), sample.p_W.z()});
    }
    EXPECT_EQ(different.size(), 14u);
    if (kind != ShapeKind::kHull) {
      EXPECT_NEAR(mean.norm(), 0, 1e-12);
    }
  }
}

TEST(SubjectSamples, TheBenchIsItsWorkingArea) {
  const Take take = testing::SketchTake();
  const auto samples = SamplesOf(take, {kTheBench});
  ASSERT_EQ(samples.size(), 15u);
  Eigen::AlignedBox3d box;
  for (const SubjectSample& sample : samples) {
    EXPECT_NEAR(sample.p_W.z(), 0.74, 1e-12);
    EXPECT_EQ(sample.body, int(take.person.capsules.size() + take.props.size()));
    box.extend(sample.p_W);
  }
  EXPECT_TRUE(box.sizes().isApprox(Vector3d(0.6, 0.4, 0), 1e-12));
  EXPECT_NEAR(box.center().x(), 0, 1e-12);
  EXPECT_GT(box.min().y(), 0);
  EXPECT_LT(box.max().y(), 0.7);
}

TEST(SubjectSamples, ASmallBenchKeepsItsSamplesOnTop) {
  Take take = testing::SketchTake();
  take.bench_top.shape = Shape::Box({0.2, 0.15, 0.015});
  take.bench_top.X_LS = testing::At(0, 0.15, 0.725);
  for (const SubjectSample& sample : SamplesOf(take, {kTheBench})) {
    EXPECT_LE(std::abs(sample.p_W.x()), 0.2 + 1e-12);
    EXPECT_GE(sample.p_W.y(), -1e-12);
    EXPECT_LE(sample.p_W.y(), 0.3 + 1e-12);
  }
}

TEST(SubjectSamples, SeveralSubjectsAddUpAndOldSamplesGo) {
  const Take take = testing::SketchTake();
  std::vector<SubjectSample> samples(99);
  SubjectSamples(take, take.frames[0], ShotOf({kTheHands, PropOf("box")}), &samples);
  EXPECT_EQ(samples.size(), 42u + 14u);
}

TEST(MeasureSubject, ExtentIsAtLeastTheSubjectsOwnLength) {
  const Take take = testing::SketchTake();
  EXPECT_EQ(NominalExtent_m(take, kTheFace), take.person.head_height_m);
  EXPECT_EQ(NominalExtent_m(take, kTheHands), take.person.hand_length_m);
  EXPECT_NEAR(NominalExtent_m(take, PropOf("ball")), 0.08, 1e-15);
  EXPECT_EQ(NominalExtent_m(take, kTheBench), 0.6);

  const SubjectGeometry ball = MeasureSubject(take, ShotOf({PropOf("ball")}), SamplesOf(take, {PropOf("ball")}));
  EXPECT_NEAR(ball.extent_m, 0.08, 1e-12);
  EXPECT_TRUE(ball.centre_W.isApprox(Vector3d(-0.2, 0.3, 0.78), 1e-12));
  // One point of a subject counts as the whole.
  EXPECT_NEAR(MeasureSubject(take, ShotOf({kTheFace}), {{Vector3d(1, 2, 3), 0, false, -1}}).extent_m, take.person.head_height_m,
              1e-15);
}

TEST(MeasureSubject, TwoSubjectsReachFromOneToTheOther) {
  const Take take = testing::SketchTake();
  const std::vector<Subject> both{PropOf("can"), PropOf("ball")};
  const SubjectGeometry now = MeasureSubject(take, ShotOf(both), SamplesOf(take, both));
  EXPECT_NEAR(now.centre_W.x(), 0.5 * (0.23 - 0.24), 1e-12);
  EXPECT_GT(now.extent_m, 0.4);
  EXPECT_LT(now.extent_m, 0.55);
}

TEST(MeasurePoints, NothingIsOfNominalSizeAtTheOrigin) {
  const SubjectGeometry nothing = MeasurePoints({}, 0.3);
  EXPECT_EQ(nothing.extent_m, 0.3);
  EXPECT_EQ(nothing.centre_W, Vector3d::Zero());
}

TEST(ViewFor, TheCameraStandsInFrontOfTheTorso) {
  // Facing +y across the bench.
  const Quaterniond ahead = Quaterniond::Identity();
  const WantedView level = ViewFor(ShotAngle::kEyeLevel, ahead), high = ViewFor(ShotAngle::kHighAngle, ahead),
                   over = ViewFor(ShotAngle::kOverhead, ahead);
  EXPECT_TRUE(level.to_camera_W.isApprox(Vector3d(0, 1, 0), 1e-12));
  EXPECT_TRUE(level.up_W.isApprox(Vector3d(0, 0, 1), 1e-12));
  EXPECT_TRUE(high.to_camera_W.isApprox(Vector3d(0, 1, 1).normalized(), 1e-12));
  EXPECT_TRUE(high.up_W.isApprox(Vector3d(0, -1, 1).normalized(), 1e-12));
  EXPECT_TRUE(over.to_camera_W.isApprox(Vector3d(0, 0, 1), 1e-12));
  EXPECT_TRUE(over.up_W.isApprox(Vector3d(0, -1, 0), 1e-12));  // image top toward the instructor
}

TEST(ViewFor, ScreenLeftStaysScreenLeftAtEveryElevation) {
  for (const double yaw : {0.0, 0.5, -1.2, 3.0}) {
    const Quaterniond q_WT(Eigen::AngleAxisd(yaw, Vector3d::UnitZ()));
    const Vector3d right_W = q_WT * Vector3d::UnitX();
    for (const ShotAngle angle : {ShotAngle::kEyeLevel, ShotAngle::kHighAngle, ShotAngle::kOverhead}) {
      const WantedView view = ViewFor(angle, q_WT);
      EXPECT_NEAR(view.to_camera_W.norm(), 1, 1e-12);
      EXPECT_NEAR(view.to_camera_W.dot(view.up_W), 0, 1e-12);
      // The image's right is the view direction times up: the instructor's right hand is at screen left.
      const Vector3d image_right_W = (-view.to_camera_W).cross(view.up_W);
      EXPECT_NEAR(image_right_W.dot(right_W), -1, 1e-12) << yaw;
    }
  }
}

TEST(ViewFor, LeaningDoesNotTiltTheViewNorTurnIt) {
  for (const double lean : {-0.6, 0.4, 1.2, std::numbers::pi / 2, 1.7}) {
    const Quaterniond q_WT = Quaterniond(Eigen::AngleAxisd(0.3, Vector3d::UnitZ())) * Eigen::AngleAxisd(-lean, Vector3d::UnitX());
    const WantedView view = ViewFor(ShotAngle::kEyeLevel, q_WT);
    EXPECT_NEAR(view.to_camera_W.z(), 0, 1e-12);
    if (lean < 1.6) {
      EXPECT_NEAR(view.to_camera_W.dot(Vector3d(-std::sin(0.3), std::cos(0.3), 0)), 1, 1e-9) << lean;
    }
  }
}

}  // namespace
}  // namespace dryrig
