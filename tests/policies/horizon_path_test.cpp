#include "policies/horizon_path.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "scenes/catalogue.h"
#include "scenes/stage.h"
#include "sim/rng.h"

namespace dryrig {
namespace {

constexpr double kTick_s = 1.0 / 30;

Stage StageOf(const std::string& bench, const std::string& arm) {
  return MakeStage(ReadBench(FindScene(SceneKind::kBench, bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                   ReadCamera(FindScene(SceneKind::kCamera, "prime")));
}

/// A picture of something small on the bench, seen from before and above.
WantedPicture PictureAt(const Stage& stage, double x, double y) {
  WantedPicture picture;
  picture.centre_W = {x, y, stage.bench.height_m + 0.05};
  picture.to_camera_W = Eigen::Vector3d(0, 1, 1).normalized();
  picture.up_W = Eigen::Vector3d(0, -1, 1).normalized();
  picture.horizon = true;
  return picture;
}

Outlook Always(const WantedPicture& picture, const PersonGuess& person) {
  Outlook outlook;
  outlook.pictures.fill(picture);
  outlook.people.fill(person);
  return outlook;
}

struct Share {
  double velocity = 0, acceleration = 0, jerk = 0, beyond = 0;
};

/// The greatest share of each of the arm's own limits on a way from cut to cut, 2 s apart, and how far beyond a joint's end.
Share MostOnCuts(const Stage& stage, double pace) {
  const ViewSolver solver(stage, ViewTuning{});
  HorizonTuning tuning;
  tuning.pace = pace;
  HorizonPath path;
  path.Reset(solver, stage, tuning);
  RandomStream draws(11, "cuts");
  Share most;
  Outlook outlook;
  Eigen::VectorXd goal = stage.arm.home;
  for (int tick = 0; tick < 240; ++tick) {
    const bool cut = tick % 60 == 0;
    if (cut) {
      outlook = Always(PictureAt(stage, draws.Uniform(-0.3, 0.3), draws.Uniform(0.1, 0.5)), {});
      goal = solver.Search(outlook.pictures[0], {}, tick == 0 ? stage.arm.home : Eigen::VectorXd(path.now().q), 0.8).q;
    }
    const JerkProgramme::State before = path.now();
    path.Step(stage.arm.home, goal, outlook, cut ? 3 : 1, kTick_s);
    const JerkProgramme::State now = path.now();
    for (int i = 0; i < stage.arm.dof(); ++i) {
      const Joint& joint = stage.arm.joints[static_cast<size_t>(i)];
      most.velocity = std::max(most.velocity, std::abs(now.v[i]) / joint.velocity);
      most.acceleration = std::max(most.acceleration, std::abs(now.a[i]) / joint.acceleration);
      most.beyond = std::max({most.beyond, joint.lower - now.q[i], now.q[i] - joint.upper});
      if (before.a.size() > 0) most.jerk = std::max(most.jerk, std::abs(now.a[i] - before.a[i]) / kTick_s / joint.jerk);
    }
  }
  return most;
}

TEST(HorizonPath, NoCutTakesAnyJointOfAnyShippedArmPastALimitOfPositionSpeedAccelerationOrJerk) {
  for (const std::string& arm : ListScenes(SceneKind::kArm)) {
    for (const std::string& bench : ListScenes(SceneKind::kBench)) {
      SCOPED_TRACE(arm + ", " + bench);
      const Share most = MostOnCuts(StageOf(bench, arm), 1);
      EXPECT_LE(most.velocity, 1);
      EXPECT_LE(most.acceleration, 1);
      EXPECT_LE(most.jerk, 1);
      EXPECT_LE(most.beyond, 0);
      EXPECT_GT(std::max(most.acceleration, most.jerk), 0.3) << "a way that asks for nothing proves nothing";
    }
  }
}

TEST(HorizonPath, HalfThePaceUsesHalfOfEachLimit) {
  const Stage stage = StageOf("study-table", "heron");
  const Share most = MostOnCuts(stage, 0.5);
  EXPECT_LE(most.velocity, 0.5);
  EXPECT_LE(most.acceleration, 0.5);
  EXPECT_LE(most.jerk, 0.5);
}

/// The least distance from a hand that comes at the camera at 0.4 m/s and stays 60 mm short of where it stood, the plan being
/// told of it or not.
double LeastGap_m(const Stage& stage, bool told, double least_gap_m, double clearance_m) {
  ViewTuning view;
  view.clearance_m = clearance_m;
  const ViewSolver solver(stage, view);
  HorizonTuning tuning;
  tuning.least_gap_m = least_gap_m;
  HorizonPath path;
  path.Reset(solver, stage, tuning);
  const WantedPicture picture = PictureAt(stage, 0, 0.3);
  const Eigen::VectorXd goal = solver.Search(picture, {}, stage.arm.home, 0.8).q;
  const Eigen::Vector3d camera_W = solver.X_WC(goal).translation();
  const Eigen::Vector3d from_W = camera_W + Eigen::Vector3d(0, -0.9, 0), way_W(0, 0.84, 0);
  const auto hand_at = [&](double t_s) {
    PersonGuess person;
    const Eigen::Vector3d at_W = from_W + std::clamp(0.4 * t_s / way_W.norm(), 0.0, 1.0) * way_W;
    person.capsules.push_back({at_W - Eigen::Vector3d(0, 0.15, 0), at_W, 0.05, false});
    return person;
  };
  double least_m = 1e9;
  for (int tick = 0; tick < 210; ++tick) {
    const double t_s = tick * kTick_s - 2;  // the first two seconds to get there
    Outlook outlook = Always(picture, {});
    if (told && path.programme()) {
      for (size_t k = 0; k < outlook.people.size(); ++k) outlook.people[k] = hand_at(t_s + path.programme()->ends_s()[k]);
    }
    path.Step(goal, goal, outlook, 1, kTick_s);
    least_m =
        std::min(least_m, solver.NearestTo(hand_at(t_s), path.now().q.size() > 0 ? Eigen::VectorXd(path.now().q) : goal).gap_m);
  }
  return least_m;
}

TEST(HorizonPath, ThePlanLetsAForeseenHandComeNoNearerThanToldWhereOneThatIsNotToldLetsItIn) {
  for (const std::string& arm : ListScenes(SceneKind::kArm)) {
    SCOPED_TRACE(arm);
    const Stage stage = StageOf("study-table", arm);
    // Broken twins: a plan that sees nobody, and one that sees but has neither bound nor guard.
    EXPECT_LT(LeastGap_m(stage, false, 0.3, 0.5), 0.1);
    EXPECT_LT(LeastGap_m(stage, true, 0, 0), 0.1);
    // The bound alone, without the guards' soft push. It holds at the ends of blocks, as linearised a tick ago: 20 mm for that.
    EXPECT_GT(LeastGap_m(stage, true, 0.3, 0), 0.28);
  }
}

}  // namespace
}  // namespace dryrig
