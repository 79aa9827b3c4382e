#include "scenes/bench.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/catalogue.h"
#include "scenes/error.h"

namespace dryrig {
namespace {

constexpr const char* kBench = R"(dryrig: bench/1
title: Table
width_mm: 1400
depth_mm: 700
height_mm: 740
thickness_mm: 40
standoff_mm: 90
mount: {at_mm: [400, 720, 890], rpy_deg: [0, 0, 90]}
keep_out:
  - {name: post, cylinder: {diameter_mm: 40, height_mm: 600}, at_mm: [600, 600, 1040]}
  - {name: shelf, box: {size_mm: [400, 100, 20]}, at_mm: [0, 690, 1100], rpy_deg: [90, 0, 90]}
)";

TEST(Bench, IsReadInMetres) {
  const Bench bench = ParseBench(kBench, "my/table.yaml");
  EXPECT_EQ(bench.name, "table");
  EXPECT_EQ(bench.width_m, 1.4);
  EXPECT_EQ(bench.depth_m, 0.7);
  EXPECT_EQ(bench.height_m, 0.74);
  EXPECT_EQ(bench.thickness_m, 0.04);
  EXPECT_EQ(bench.standoff_m, 0.09);
  EXPECT_EQ(bench.X_WB.translation(), Eigen::Vector3d(0.4, 0.72, 0.89));
  // A quarter turn about z: the base's x axis looks along the world's y. Rounding of sine and cosine alone: 1e-15.
  EXPECT_TRUE(bench.X_WB.linear().col(0).isApprox(Eigen::Vector3d::UnitY(), 1e-15));
  ASSERT_EQ(bench.keep_out.size(), 2u);
  EXPECT_EQ(bench.keep_out[0].name, "post");
  EXPECT_EQ(bench.keep_out[0].shape.half_length_m, 0.3);
  EXPECT_EQ(bench.keep_out[0].X_LS.translation(), Eigen::Vector3d(0.6, 0.6, 1.04));
  EXPECT_EQ(bench.text, kBench);
}

// Fixed axes, roll first, as in URDF: roll 90 carries z to -y, then yaw 90 carries -y to x.
TEST(Bench, RollPitchYawTurnAboutFixedAxes) {
  const Bench bench = ParseBench(kBench, "table.yaml");
  const Eigen::Matrix3d R = bench.keep_out[1].X_LS.linear();
  EXPECT_TRUE(R.col(2).isApprox(Eigen::Vector3d::UnitX(), 1e-15)) << R;
}

TEST(Bench, ShelvesAreFixturesWithTops) {
  std::string text = kBench;
  text.insert(text.find("keep_out:"), "shelves:\n  - {name: rack, box: {size_mm: [300, 400, 120]}, at_mm: [700, 250, 800]}\n");
  const Bench bench = ParseBench(text, "table.yaml");
  ASSERT_EQ(bench.shelves.size(), 1u);
  EXPECT_EQ(bench.shelves[0].shape.half_m, Eigen::Vector3d(0.15, 0.2, 0.06));
  EXPECT_DOUBLE_EQ(TopHeight_m(bench, "rack"), 0.86);
  EXPECT_EQ(TopHeight_m(bench, ""), 0.74);
  ASSERT_EQ(bench.keep_out.size(), 3u);
  EXPECT_EQ(bench.keep_out[0].name, "rack");
  EXPECT_THAT(
      [&] { TopHeight_m(bench, "rock"); },
      testing::ThrowsMessage<InputError>(testing::HasSubstr("bench table has no shelf \"rock\"; did you mean \"rack\"?")));
}

TEST(Bench, TopEndsAtTheHeightAndTheFrontEdge) {
  const Body top = BenchTop(ParseBench(kBench, "table.yaml"));
  EXPECT_EQ(top.name, "bench");
  const Eigen::Vector3d least = top.X_LS.translation() - top.shape.half_m, most = top.X_LS.translation() + top.shape.half_m;
  EXPECT_TRUE(least.isApprox(Eigen::Vector3d(-0.7, 0, 0.70), 1e-15)) << least.transpose();
  EXPECT_TRUE(most.isApprox(Eigen::Vector3d(0.7, 0.7, 0.74), 1e-15)) << most.transpose();
}

TEST(ShippedBenches, MountTheArmBehindTheBenchLookingAtTheInstructorsPlace) {
  const std::vector<std::string> names = ListScenes(SceneKind::kBench);
  ASSERT_GE(names.size(), 2u);
  for (const std::string& name : names) {
    SCOPED_TRACE(name);
    const Bench bench = ReadBench(FindScene(SceneKind::kBench, name));
    const Eigen::Vector3d p = bench.X_WB.translation();
    EXPECT_GT(p.z(), bench.height_m);
    // Along its x axis the base passes the front edge's middle, the instructor's place, within 0.15 m.
    const Eigen::Vector3d x = bench.X_WB.linear().col(0);
    const Eigen::Vector3d to_place(-p.x(), -p.y(), 0);
    EXPECT_GT(x.dot(to_place), 0);
    EXPECT_LT(x.cross(to_place).norm(), 0.15);
    for (const Body& body : bench.keep_out) {
      if (std::any_of(bench.shelves.begin(), bench.shelves.end(), [&](const Body& b) { return b.name == body.name; })) continue;
      const Eigen::Vector3d place = body.X_LS.translation();
      EXPECT_GT(place.y(), bench.depth_m / 2) << "keep-outs stand away from the instructor";
    }
  }
}

}  // namespace
}  // namespace dryrig
