#include "policies/person_forecast.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "scenes/catalogue.h"
#include "scenes/stage.h"

namespace dryrig {
namespace {

constexpr double kTick_s = 1.0 / 30;

/// Somebody tracked without error or delay whose right hand, palm and fingers as one, is where it is put.
class Watched {
 public:
  explicit Watched(std::vector<TrackedProp> props)
      : stage_(MakeStage(ReadBench(FindScene(SceneKind::kBench, "study-table")), ReadArm(FindScene(SceneKind::kArm, "heron")),
                         ReadCamera(FindScene(SceneKind::kCamera, "zoom")))),
        props_(std::move(props)) {
    scene_.Reset(stage_);
    for (TrackedProp& prop : props_) prop.seen = true;
  }
  void Tick(const Eigen::Vector3d& hand_W) {
    person_.seen = true;
    person_.stamp_s = t_s_;
    for (int k = 0; k < kHandLandmarks; ++k) {
      person_.points[static_cast<size_t>(HandPoint(kRight, k))] = {hand_W, true, 0};
    }
    scene_.Update({t_s_, person_, props_, {}, arm_, {}, stage_});
    forecast_.Update(scene_);
    t_s_ += kTick_s;
  }
  Eigen::Vector3d Now_W() const { return scene_.HandCentre(kRight); }
  const PersonForecast& forecast() const { return forecast_; }
  const Eigen::Vector3d& v_W() const { return scene_.HandVelocity(kRight); }

 private:
  Stage stage_;
  std::vector<TrackedProp> props_;
  TrackedPerson person_;
  ArmState arm_;
  SceneFilter scene_;
  PersonForecast forecast_;
  double t_s_ = 0;
};

std::vector<TrackedProp> ThreeProps() {
  std::vector<TrackedProp> props(3);
  props[0].name = "left", props[0].p_WP = {-0.25, 0.35, 0.75};
  props[1].name = "middle", props[1].p_WP = {0.0, 0.42, 0.75};
  props[2].name = "right", props[2].p_WP = {0.4, 0.3, 0.75};
  return props;
}

TEST(PersonForecast, TheLawIsHalfWayAtHalfTimeAndAtItsFastestThere) {
  EXPECT_DOUBLE_EQ(MinimumJerkWay(0), 0);
  EXPECT_DOUBLE_EQ(MinimumJerkWay(0.5), 0.5);
  EXPECT_DOUBLE_EQ(MinimumJerkWay(1), 1);
  // Flash & Hogan 1985: the peak is 1.875 times the mean speed. A central difference of 1e-4 is off by less than 1e-6.
  EXPECT_NEAR((MinimumJerkWay(0.5001) - MinimumJerkWay(0.4999)) / 0.0002, 1.875, 1e-6);
  for (const double time : {0.1, 0.3, 0.77}) EXPECT_NEAR(MinimumJerkTime(MinimumJerkWay(time)), time, 1e-6);
}

TEST(PersonForecast, AReachIsForetoldToItsPropFromHalfItsTimeOnWhereItsSpeedAloneWouldMiss) {
  for (int goal = 0; goal < 3; ++goal) {
    SCOPED_TRACE(goal);
    Watched watched(ThreeProps());
    const Eigen::Vector3d from_W(0.15, 0.1, 0.75), to_W = ThreeProps()[static_cast<size_t>(goal)].p_WP;
    constexpr double kLength_s = 1.0;
    for (int k = 0; k < 30; ++k) watched.Tick(from_W);
    double t_s = 0;
    for (; t_s < 0.55 * kLength_s; t_s += kTick_s) watched.Tick(from_W + MinimumJerkWay(t_s / kLength_s) * (to_W - from_W));
    const auto& reach = watched.forecast().reach(kRight);
    ASSERT_TRUE(reach.has_value());
    EXPECT_EQ(reach->prop, goal);
    EXPECT_GT(reach->sure, 0.6);
    const Eigen::Vector3d end_W = watched.Now_W() + watched.forecast().HandShift_W(kRight, 1.5);
    const double way_m = (to_W - from_W).norm();
    // What the guess leaves to chance (a reach to no prop) it does not go; a quarter of the whole way is allowed for that.
    EXPECT_LT((end_W - to_W).norm(), 0.25 * way_m);
    // The broken twin: as fast on as now, until the reach is over.
    const Eigen::Vector3d straight_W = watched.Now_W() + (kLength_s - t_s) * watched.v_W();
    EXPECT_GT((straight_W - to_W).norm(), 1.2 * (end_W - to_W).norm());
    EXPECT_EQ(watched.forecast().ReachShift_W(kLeft, 1).norm(), 0) << "the other hand rests";
  }
}

TEST(PersonForecast, AHandThatWorksToAndFroReachesForNothing) {
  Watched watched(ThreeProps());
  double most_m = 0;
  for (int k = 0; k < 150; ++k) {
    // Strokes of 60 mm at 1.5 Hz beside the middle prop.
    const double along_m = 0.03 * std::sin(2 * std::numbers::pi * 1.5 * k * kTick_s);
    watched.Tick({0.05 + along_m, 0.3, 0.78});
    most_m = std::max(most_m, watched.forecast().ReachShift_W(kRight, 2).norm());
  }
  EXPECT_LT(most_m, 0.02);
}

TEST(PersonForecast, ASpeedAloneLastsAMomentAndNoLonger) {
  Watched watched({});
  for (int k = 0; k < 60; ++k) watched.Tick({0.2 * k * kTick_s, 0.3, 0.9});
  const Eigen::Vector3d v_W = watched.v_W();
  EXPECT_NEAR(v_W.x(), 0.2, 0.01) << "the filter has settled on the hand's speed";
  // One frame on the decay takes 5 % of the way; far on it is 0.3 s at the present speed.
  EXPECT_NEAR(watched.forecast().HandShift_W(kRight, kTick_s).x(), v_W.x() * kTick_s, 0.06 * v_W.x() * kTick_s);
  EXPECT_NEAR(watched.forecast().HandShift_W(kRight, 5).x(), 0.3 * v_W.x(), 1e-6);
}

}  // namespace
}  // namespace dryrig
