// What goes to a policy's process and comes back is the same to the bit, field by field, and what is cut short is refused.
#include "policies/outside/wire.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "policies/outside/seen.h"
#include "scenes/catalogue.h"

namespace dryrig {
namespace {

using ::testing::HasSubstr;

template <class T>
std::string Bytes(const T& value) {
  WireWriter out;
  out(value);
  return out.bytes();
}
template <class T>
T Back(const std::string& bytes) {
  T value;
  WireReader in(bytes);
  in(value);
  in.Finish();
  return value;
}

Seen SomeSeen() {
  Seen seen;
  seen.t_s = 1.0 / 3;
  seen.person.seen = true;
  seen.person.stamp_s = 0.3;
  for (size_t i = 0; i < seen.person.points.size(); ++i) {
    const auto x = static_cast<double>(i);
    seen.person.points[i] = {Eigen::Vector3d(x, x / 7, -x), i % 2 == 0, i % 3 == 0 ? INFINITY : x};
  }
  seen.person.q_WT = Eigen::Quaterniond(0.5, -0.5, 0.5, 0.5);
  seen.person.q_WHd = Eigen::Quaterniond(0.1, 0.2, 0.3, 0.4).normalized();
  seen.person.head_height_m = 0.21, seen.person.hand_length_m = 0.18;
  seen.props = {{"awl", {1, 2, 3}, 0.05, true, 0.25}, {"", {4, 5, 6}, 0.07, false, INFINITY}};
  seen.heard = {{1, 1.5, "closer, please"}, {2, 2.5, ""}};
  seen.arm.q = Eigen::VectorXd::LinSpaced(6, 0.1, 0.6);
  seen.arm.qd = -seen.arm.q;
  seen.arm.X_WC = Eigen::Translation3d(1, 2, 3) * Eigen::AngleAxisd(0.3, Eigen::Vector3d::UnitX());
  seen.lens = {0.018, 0.7};
  return seen;
}

TEST(Wire, ObservationKeepsEveryBit) {
  const Seen seen = SomeSeen(), back = Back<Seen>(Bytes(seen));
  EXPECT_EQ(back.t_s, seen.t_s);
  EXPECT_EQ(back.person.stamp_s, 0.3);
  EXPECT_EQ(back.person.points[61].p_W, seen.person.points[61].p_W);
  EXPECT_EQ(back.person.points[60].seen, true);
  EXPECT_EQ(back.person.points[60].age_s, INFINITY);
  EXPECT_EQ(back.person.q_WHd.coeffs(), seen.person.q_WHd.coeffs());
  EXPECT_EQ(back.person.hand_length_m, 0.18);
  EXPECT_EQ(back.props[1].p_WP, seen.props[1].p_WP);
  EXPECT_EQ(back.props[0].name, "awl");
  EXPECT_EQ(back.heard[0].text, "closer, please");
  EXPECT_EQ(back.arm.qd, seen.arm.qd);
  EXPECT_EQ(back.arm.X_WC.matrix(), seen.arm.X_WC.matrix());
  EXPECT_EQ(back.lens.focus_m, 0.7);
  EXPECT_EQ(Bytes(back), Bytes(seen));
}

TEST(Wire, MoveKeepsItsKindAndItsShot) {
  Move joints{JointTarget{Eigen::VectorXd::Constant(7, 0.25)},
              0.02,
              0.8,
              {{{SubjectKind::kProp, "awl"}}, ShotSize::kExtremeCloseUp, ShotAngle::kOverhead, Composition::kLowerLeft}};
  const Move back = Back<Move>(Bytes(joints));
  ASSERT_TRUE(std::holds_alternative<JointTarget>(back.motion));
  EXPECT_EQ(std::get<JointTarget>(back.motion).q, Eigen::VectorXd::Constant(7, 0.25));
  EXPECT_EQ(back.chosen, joints.chosen);
  CameraTarget target;
  target.v_WC = {1, 2, 3};
  target.w_WC = {4, 5, 6};
  const Move camera = Back<Move>(Bytes(Move{target, 0.02, 0.8, {}}));
  EXPECT_EQ(std::get<CameraTarget>(camera.motion).w_WC, target.w_WC);
}

TEST(Wire, ShippedStagesComeBackWhole) {
  for (const std::string& bench : ListScenes(SceneKind::kBench)) {
    for (const std::string& arm : ListScenes(SceneKind::kArm)) {
      const Stage stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                                    ReadCamera(FindScene(SceneKind::kCamera, ListScenes(SceneKind::kCamera).front())));
      const Stage back = Back<Stage>(Bytes(stage));
      EXPECT_EQ(Bytes(back), Bytes(stage)) << bench << " " << arm;
      EXPECT_EQ(back.arm.text, stage.arm.text);
      EXPECT_EQ(back.arm.links.back().bodies.back().name, stage.arm.links.back().bodies.back().name);
      EXPECT_EQ(back.arm.home, stage.arm.home);
      EXPECT_EQ(back.bench.X_WB.matrix(), stage.bench.X_WB.matrix());
      EXPECT_EQ(back.camera.p_CHousing, stage.camera.p_CHousing);
    }
  }
}

TEST(Wire, WhatIsCutShortOrTooLongIsRefused) {
  const std::string whole = Bytes(SomeSeen());
  for (const size_t size : {size_t{0}, size_t{7}, whole.size() / 2, whole.size() - 1}) {
    EXPECT_THAT([&] { Back<Seen>(whole.substr(0, size)); }, ThrowsMessage<RunError>(HasSubstr("ends too early"))) << size;
  }
  EXPECT_THAT([&] { Back<Seen>(whole + "x"); }, ThrowsMessage<RunError>(HasSubstr("too long")));
  const size_t huge = SIZE_MAX;
  const std::string count(reinterpret_cast<const char*>(&huge), sizeof huge);
  EXPECT_THAT([&] { Back<std::string>(count); }, ThrowsMessage<RunError>(HasSubstr("ends too early")));
}

// A struct that grows must grow here too: on this machine's ABI its size tells.
TEST(Wire, NoStructHasFieldsThatAreNotSent) {
  EXPECT_EQ(sizeof(TrackedPoint), 40u);
  EXPECT_EQ(sizeof(TrackedPerson), 16 + 62 * 40 + 2 * 32 + 16u);
  EXPECT_EQ(sizeof(TrackedProp), 32 + 24 + 8 + 16u);
  EXPECT_EQ(sizeof(HeardSentence), 16 + 32u);
  EXPECT_EQ(sizeof(ArmState), 2 * 16 + 128u);
  EXPECT_EQ(sizeof(Move), 256u);
  EXPECT_EQ(sizeof(Stage), 1072u);
}

}  // namespace
}  // namespace dryrig
