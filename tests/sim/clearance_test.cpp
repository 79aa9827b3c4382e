#include "sim/clearance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "scenes/error.h"
#include "sim/distance.h"
#include "tests/sim/random_solids.h"
#include "tests/sim/sketch_person.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::ThrowsMessage;

ArmBody Part(int link, const std::string& name, const Shape& shape, const Vector3d& p_LS = Vector3d::Zero()) {
  ArmBody part{link, {name, shape, Isometry3d::Identity()}};
  part.body.X_LS.translation() = p_LS;
  return part;
}

// Every kind of solid, spread over a base and three links.
std::vector<ArmBody> MixedArm() {
  return {Part(-1, "base", Shape::Cylinder(0.08, 0.06), {0, 0, 0.06}),
          Part(0, "column", Shape::Box({0.05, 0.06, 0.2}), {0, 0, 0.2}),
          Part(0, "elbow", Shape::Sphere(0.07), {0, 0, 0.4}),
          Part(1, "tube", Shape::Cylinder(0.04, 0.2), {0, 0, 0.2}),
          Part(1, "pipe", Shape::Capsule(0.04, 0.15), {0, 0.08, 0.2}),
          Part(2, "cover", Shape::Hull(testing::BoxCorners({0.03, 0.05, 0.08})), {0, 0, 0.08}),
          Part(2, "camera", Shape::Box({0.06, 0.04, 0.06}), {0, 0, 0.2})};
}

struct Posed {
  std::vector<Isometry3d> X_WL;
};

Posed RandomPosture(RandomStream* random) {
  Posed posed;
  for (int i = 0; i < 3; ++i) {
    posed.X_WL.push_back(testing::RandomPose(random, 0.3));
    posed.X_WL.back().translation() += Vector3d(0, 0.4, 1.1);
  }
  return posed;
}

// The plain search over all pairs, by the public distance alone.
Clearance PlainSearch(const std::vector<ArmBody>& arm, const Posed& posed, const PersonBody& person, const BodyPose& pose) {
  Clearance best;
  best.distance_m = std::numeric_limits<double>::infinity();
  for (size_t i = 0; i < arm.size(); ++i) {
    if (arm[i].link < 0) continue;
    const Isometry3d X_WS = posed.X_WL[static_cast<size_t>(arm[i].link)] * arm[i].body.X_LS;
    for (size_t k = 0; k < person.capsules.size(); ++k) {
      const Vector3d a = pose.p_W[person.capsules[k].a], b = pose.p_W[person.capsules[k].b];
      Isometry3d X_WK(Eigen::Quaterniond::FromTwoVectors(Vector3d::UnitZ(), b - a));
      X_WK.pretranslate(0.5 * (a + b));
      const Shape capsule = Shape::Capsule(person.capsules[k].radius_m, 0.5 * (b - a).norm());
      const Nearest now = Distance(arm[i].body.shape, X_WS, capsule, X_WK);
      if (now.distance_m < best.distance_m - 1e-9) best = {now.distance_m, int(i), int(k), now.p_WA, now.p_WB};
    }
  }
  return best;
}

TEST(ArmBodies, BaseComesFirstThenLinkByLink) {
  ArmModel arm;
  arm.base.bodies = {{"foot", Shape::Sphere(1), Isometry3d::Identity()}, {"post", Shape::Sphere(1), Isometry3d::Identity()}};
  arm.links.resize(3);
  arm.links[0].bodies = {{"upper", Shape::Sphere(1), Isometry3d::Identity()}};
  arm.links[2].bodies = {{"wrist", Shape::Sphere(1), Isometry3d::Identity()},
                         {"camera", Shape::Sphere(1), Isometry3d::Identity()}};
  std::vector<std::string> seen;
  for (const ArmBody& part : ArmBodies(arm)) seen.push_back(std::to_string(part.link) + " " + part.body.name);
  EXPECT_THAT(seen, ElementsAre("-1 foot", "-1 post", "0 upper", "2 wrist", "2 camera"));
}

TEST(Clearance, ReadsAPlantedGapAtTheHead) {
  const auto person = testing::MakeSketchPerson();
  // A camera 5 mm above the crown (head capsule: middle end 1.3 m, radius 0.09 m).
  const std::vector<ArmBody> arm{Part(-1, "base", Shape::Box({0.1, 0.1, 0.1}), {0, 2, 0}),
                                 Part(0, "camera", Shape::Box({0.06, 0.04, 0.05}))};
  Isometry3d X_WL = Isometry3d::Identity();
  X_WL.translation() = Vector3d(0, -0.17, 1.3 + 0.09 + 0.05 + 0.005);
  const Clearance now = NearestToPerson(arm, {X_WL}, person.body, person.pose);
  EXPECT_NEAR(now.distance_m, 0.005, 1e-9);
  EXPECT_EQ(now.arm_body, 1);
  EXPECT_EQ(person.body.capsules[now.capsule].name, "head");
  EXPECT_NEAR(now.p_WArm.z() - now.p_WPerson.z(), 0.005, 1e-9);
}

TEST(Clearance, ABaseThatNeverMovesApproachesNoOne) {
  const auto person = testing::MakeSketchPerson();
  // The foot stands in the head; the camera is 5 mm above it.
  std::vector<ArmBody> arm{Part(-1, "foot", Shape::Box({0.1, 0.1, 0.1}), {0, -0.17, 1.3}),
                           Part(0, "camera", Shape::Box({0.06, 0.04, 0.05}))};
  Isometry3d X_WL = Isometry3d::Identity();
  X_WL.translation() = Vector3d(0, -0.17, 1.3 + 0.09 + 0.05 + 0.005);
  EXPECT_EQ(NearestToPerson(arm, {X_WL}, person.body, person.pose).arm_body, 1);
  EXPECT_NEAR(NearestToPerson(arm, {X_WL}, person.body, person.pose).distance_m, 0.005, 1e-9);
  arm[0] = Part(0, "foot", Shape::Box({0.1, 0.1, 0.1}),
                X_WL.inverse() * Vector3d(0, -0.17, 1.3));  // the same solid on a link that moves is met at once
  EXPECT_LT(NearestToPerson(arm, {X_WL}, person.body, person.pose).distance_m, 0);
}

TEST(Clearance, IsTheLeastOfAllPairs) {
  const auto person = testing::MakeSketchPerson();
  RandomStream random(1, "postures");
  int apart = 0;
  for (int i = 0; i < 1000; ++i) {
    const Posed posed = RandomPosture(&random);
    const Clearance fast = NearestToPerson(MixedArm(), posed.X_WL, person.body, person.pose);
    const Clearance plain = PlainSearch(MixedArm(), posed, person.body, person.pose);
    EXPECT_NEAR(fast.distance_m, plain.distance_m, 1e-8);
    apart += plain.distance_m > 0;
    EXPECT_NEAR((fast.p_WArm - fast.p_WPerson).norm(), std::abs(fast.distance_m), 1e-9);
  }
  EXPECT_GT(apart, 300);
  EXPECT_LT(apart, 990);
}

TEST(Clearance, TiesGoToTheFirstPair) {
  PersonBody person;
  BodyPose pose;
  pose.p_W.fill(Vector3d::Zero());
  pose.p_W[kElbowR] = Vector3d(1, 0, 0);
  // Three times the same distance, from both sides of a joint that two capsules share.
  person.capsules = {
      {"far", kWristL, kWristL, 0.1, "hand"}, {"one", kElbowR, kElbowR, 0.1, "hand"}, {"two", kElbowR, kElbowR, 0.1, "hand"}};
  const std::vector<ArmBody> arm{Part(0, "a", Shape::Sphere(0.1), {1.5, 0, 0}), Part(0, "b", Shape::Sphere(0.1), {1, 0.5, 0})};
  const Clearance now = NearestToPerson(arm, {Isometry3d::Identity()}, person, pose);
  EXPECT_EQ(now.arm_body, 0);
  EXPECT_EQ(now.capsule, 1);
}

TEST(Clearance, RepeatsBitForBit) {
  const auto person = testing::MakeSketchPerson();
  RandomStream random(2, "postures");
  const Posed posed = RandomPosture(&random);
  const Clearance a = NearestToPerson(MixedArm(), posed.X_WL, person.body, person.pose);
  for (int i = 0; i < 50; ++i) {
    const Posed other = RandomPosture(&random);
    NearestToPerson(MixedArm(), other.X_WL, person.body, person.pose);
    const Clearance b = NearestToPerson(MixedArm(), posed.X_WL, person.body, person.pose);
    EXPECT_EQ(a.distance_m, b.distance_m);
    EXPECT_EQ(a.p_WArm, b.p_WArm);
    EXPECT_EQ(a.p_WPerson, b.p_WPerson);
  }
}

TEST(Clearance, RefusesWhatHasNoDistance) {
  const auto person = testing::MakeSketchPerson();
  const auto measure = [&](const std::vector<ArmBody>& arm, const PersonBody& body, const BodyPose& pose) {
    NearestToPerson(arm, std::vector<Isometry3d>(3, Isometry3d::Identity()), body, pose);
  };
  EXPECT_THAT([&] { measure({}, person.body, person.pose); },
              ThrowsMessage<RunError>(HasSubstr("0 moving arm bodies and 55 capsules")));
  EXPECT_THAT([&] { measure(MixedArm(), PersonBody{}, person.pose); },
              ThrowsMessage<RunError>(HasSubstr("6 moving arm bodies and 0 capsules")));
  BodyPose broken = person.pose;
  broken.p_W.fill(Vector3d::Constant(std::numeric_limits<double>::quiet_NaN()));
  EXPECT_THAT([&] { measure(MixedArm(), person.body, broken); }, ThrowsMessage<RunError>(HasSubstr("no finite distance")));
}

}  // namespace
}  // namespace dryrig
