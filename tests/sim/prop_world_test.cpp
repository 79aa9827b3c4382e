#include <gmock/gmock.h>

#include <cmath>

#include "scenes/error.h"
#include "sim/arm_world.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

constexpr double kHz = 240;

Prop MakeProp(const std::string& name, const Shape& shape, const Eigen::Vector2d& at_m) {
  Prop prop;
  prop.name = name;
  prop.shape = shape;
  prop.at_m = at_m;
  prop.yaw_rad = 0.3;
  return prop;
}

struct Case {
  Prop prop;
  double middle_m;  // of the prop above the bench
};

std::vector<Case> Cases() {
  return {{MakeProp("box", Shape::Box({0.05, 0.03, 0.02}), {-0.4, 0.2}), 0.02},
          {MakeProp("sheet", Shape::Box({0.10, 0.15, 0.0005}), {-0.1, 0.3}), 0.0005},
          {MakeProp("tin", Shape::Cylinder(0.03, 0.04), {0.1, 0.2}), 0.04},
          {MakeProp("ball", Shape::Sphere(0.025), {0.3, 0.2}), 0.025},
          {MakeProp("block",
                    Shape::Hull({{0.03, 0.02, 0.01},
                                 {-0.03, 0.02, 0.01},
                                 {0.03, -0.02, 0.01},
                                 {-0.03, -0.02, 0.01},
                                 {0.03, 0.02, -0.01},
                                 {-0.03, 0.02, -0.01},
                                 {0.03, -0.02, -0.01},
                                 {-0.03, -0.02, -0.01}}),
                    {0.5, 0.3}),
           0.01}};
}

std::vector<Prop> Props() {
  std::vector<Prop> props;
  for (const Case& c : Cases()) props.push_back(c.prop);
  return props;
}

TEST(PropWorld, PropsLieWhereTheLessonPutsThem) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  const std::vector<Case> cases = Cases();
  ArmWorld world(stage, Props(), stage.arm.home, kHz);
  const std::vector<PropPose> free(cases.size());
  for (int i = 0; i < 10 * kHz; ++i) world.Step(test::Hold(stage.arm.home), free);
  for (size_t i = 0; i < cases.size(); ++i) {
    SCOPED_TRACE(cases[i].prop.name);
    Isometry3d X_WP = Isometry3d::Identity();
    X_WP.translate(Vector3d(cases[i].prop.at_m.x(), cases[i].prop.at_m.y(), stage.bench.height_m + cases[i].middle_m));
    X_WP.rotate(Eigen::AngleAxisd(0.3, Vector3d::UnitZ()));
    EXPECT_TRUE(world.X_WP(static_cast<int>(i)).isApprox(X_WP, 1e-12));
  }
}

TEST(PropWorld, CarriedPropsAreWhereTheHandIs) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  ArmWorld world(stage, Props(), stage.arm.home, kHz);
  std::vector<PropPose> poses(Cases().size());
  RandomStream random(1, "hand");
  for (int i = 0; i < 100; ++i) {
    for (PropPose& pose : poses) {
      pose.carrier = kLeft;
      pose.X_WP = Eigen::Translation3d(random.Uniform(), random.Uniform(), random.Uniform()) *
                  Eigen::AngleAxisd(random.Uniform(), Vector3d(1, 2, 3).normalized());
    }
    world.Step(test::Hold(stage.arm.home), poses);
    for (size_t p = 0; p < poses.size(); ++p) EXPECT_TRUE(world.X_WP(static_cast<int>(p)).isApprox(poses[p].X_WP, 1e-12));
  }
}

TEST(PropWorld, LetGoOfInTheAirAPropFallsAndComesToRestOnTheBench) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  const std::vector<Case> cases = Cases();
  for (size_t which = 0; which < cases.size(); ++which) {
    SCOPED_TRACE(cases[which].prop.name);
    ArmWorld world(stage, Props(), stage.arm.home, kHz);
    const double top_m = stage.bench.height_m, drop_m = 0.1;
    std::vector<PropPose> poses(cases.size());
    poses[which].X_WP = Eigen::Translation3d(0, 0.55, top_m + cases[which].middle_m + drop_m);
    poses[which].carrier = kRight;
    for (int i = 0; i < 10; ++i) world.Step(test::Hold(stage.arm.home), poses);
    poses[which].carrier = -1;
    const int p = static_cast<int>(which);
    // g t²/2 with an error of g t dt/2 for the engine's velocity-first step.
    for (int i = 1; i <= 30; ++i) {
      world.Step(test::Hold(stage.arm.home), poses);
      const double t_s = i / kHz, fallen = poses[which].X_WP.translation().z() - world.X_WP(p).translation().z();
      ASSERT_NEAR(fallen, 0.5 * 9.81 * t_s * t_s, 1.001 * 9.81 * t_s / kHz / 2);
    }
    for (int i = 0; i < 5 * kHz; ++i) world.Step(test::Hold(stage.arm.home), poses);
    const Isometry3d rest = world.X_WP(p);
    EXPECT_NEAR(rest.translation().z(), top_m + cases[which].middle_m, 5e-4);
    EXPECT_LT((rest.translation() - poses[which].X_WP.translation()).head<2>().norm(), 0.01);
    if (cases[which].prop.shape.kind != ShapeKind::kSphere) {
      EXPECT_GT(rest.linear()(2, 2), std::cos(0.5 * test::kDeg));
    }
    for (int i = 0; i < kHz; ++i) world.Step(test::Hold(stage.arm.home), poses);
    EXPECT_TRUE(world.X_WP(p).isApprox(rest, 1e-9));  // it sleeps
  }
}

TEST(PropWorld, LaidDownAPropStaysPut) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  const std::vector<Case> cases = Cases();
  for (size_t which = 0; which < cases.size(); ++which) {
    SCOPED_TRACE(cases[which].prop.name);
    ArmWorld world(stage, Props(), stage.arm.home, kHz);
    std::vector<PropPose> poses(cases.size());
    poses[which].X_WP = Eigen::Translation3d(0, 0.55, stage.bench.height_m + cases[which].middle_m);
    poses[which].carrier = kRight;
    world.Step(test::Hold(stage.arm.home), poses);
    poses[which].carrier = -1;
    for (int i = 0; i < 5 * kHz; ++i) world.Step(test::Hold(stage.arm.home), poses);
    EXPECT_LT((world.X_WP(static_cast<int>(which)).translation() - poses[which].X_WP.translation()).norm(), 2e-4);
  }
}

/// A prop let go of inside another must not be shot away.
TEST(PropWorld, OverlapIsNotTurnedIntoSpeed) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  const std::vector<Prop> props{MakeProp("box", Shape::Box({0.05, 0.03, 0.02}), {0, 0.3}),
                                MakeProp("peg", Shape::Box({0.01, 0.01, 0.03}), {0.4, 0.3})};
  ArmWorld world(stage, props, stage.arm.home, kHz);
  std::vector<PropPose> poses(2);
  poses[1].X_WP = Eigen::Translation3d(0, 0.3, stage.bench.height_m + 0.055);  // 15 mm into the box
  poses[1].carrier = kRight;
  world.Step(test::Hold(stage.arm.home), poses);
  poses[1].carrier = -1;
  double highest = 0;
  for (int i = 0; i < 3 * kHz; ++i) {
    world.Step(test::Hold(stage.arm.home), poses);
    highest = std::max(highest, world.X_WP(1).translation().z());
  }
  EXPECT_LT(highest, stage.bench.height_m + 0.04 + 0.03 + 0.005);  // on the box, not above it
  EXPECT_LT((world.X_WP(0).translation() - Vector3d(0, 0.3, stage.bench.height_m + 0.02)).norm(), 0.02);
}

/// An arm that sweeps along the bench, its camera end 5 cm above it.
TEST(PropWorld, TheArmPushesAFreePropAndNotACarriedOne) {
  Stage stage = test::MakeLevelStage(test::SixAxes());
  stage.bench.X_WB = Eigen::Translation3d(0, 0.9, 0.74);
  const Eigen::VectorXd low = (Eigen::VectorXd(6) << -90, 70, 45, 0, 30, 0).finished() * test::kDeg;
  Body& finger = stage.arm.links.back().bodies.front();
  finger.shape = Shape::Sphere(0.03);
  finger.X_LS.setIdentity();
  ArmWorld probe(stage, {}, low, kHz);
  const Vector3d at = probe.X_WL().back().translation();
  ASSERT_NEAR(at.z(), stage.bench.height_m, 0.15);
  ASSERT_GT(at.y(), 0.1);

  for (const bool carried : {false, true}) {
    Prop post = MakeProp("post", Shape::Box({0.02, 0.02, (at.z() - stage.bench.height_m + 0.05) / 2}), {at.x() + 0.1, at.y()});
    ArmWorld world(stage, {post}, low, kHz);
    const Isometry3d before = world.X_WP(0);
    PropPose pose;
    pose.X_WP = before;
    pose.carrier = carried ? kLeft : -1;
    JointSetPoint wish = test::Hold(low);
    for (int i = 0; i < kHz; ++i) {
      wish.qd[0] = 0.5;
      wish.q[0] = low[0] + 0.5 * i / kHz;
      world.Step(wish, {pose});
    }
    const double moved = (world.X_WP(0).translation() - before.translation()).norm();
    if (carried) {
      EXPECT_LT(moved, 1e-12);
    } else {
      EXPECT_GT(moved, 0.03);
    }
  }
}

TEST(PropWorld, TumblingPropsGiveTheSameBitsTwice) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  const std::vector<Case> cases = Cases();
  const auto run = [&] {
    ArmWorld world(stage, Props(), stage.arm.home, kHz);
    std::vector<PropPose> poses(cases.size());
    for (size_t i = 0; i < poses.size(); ++i) {  // a heap in the air, let go of one by one
      poses[i].X_WP = Eigen::Translation3d(0.01 * double(i), 0.3, 0.9 + 0.06 * double(i)) *
                      Eigen::AngleAxisd(0.3 * double(i), Vector3d(1, 2, 3).normalized());
    }
    std::vector<Eigen::Matrix4d> path;
    for (int i = 0; i < 3 * kHz; ++i) {
      for (size_t p = 0; p < poses.size(); ++p) poses[p].carrier = i < 20 * static_cast<int>(p + 1) ? kLeft : -1;
      world.Step(test::Hold(stage.arm.home), poses);
      for (size_t p = 0; p < poses.size(); ++p) path.push_back(world.X_WP(static_cast<int>(p)).matrix());
    }
    return path;
  };
  const auto one = run(), two = run();
  ASSERT_EQ(one.size(), two.size());
  for (size_t i = 0; i < one.size(); ++i) ASSERT_EQ(one[i], two[i]) << i;
}

TEST(PropWorld, NeedsOnePoseAProp) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  ArmWorld world(stage, Props(), stage.arm.home, kHz);
  EXPECT_THAT([&] { world.Step(test::Hold(stage.arm.home), {}); },
              testing::ThrowsMessage<RunError>(testing::HasSubstr("0 prop poses for 5 props")));
}

}  // namespace
}  // namespace dryrig
