#include "policies/still_guard.h"

#include <gtest/gtest.h>

#include "scenes/catalogue.h"
#include "scenes/stage.h"
#include "sim/rng.h"

namespace dryrig {
namespace {

Stage StageOf(const std::string& bench, const std::string& arm) {
  return MakeStage(ReadBench(FindScene(SceneKind::kBench, bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                   ReadCamera(FindScene(SceneKind::kCamera, "zoom")));
}

struct Ride {
  double least_m = 1;
  int slowed = 0;  // ticks
};

/// Three seconds at 30 Hz from home with each joint at a constant speed of at most 1.5 rad/s.
Ride Drive(const Stage& stage, const StillGuard& guard, bool guarded, int number) {
  constexpr double kTick_s = 1.0 / 30;
  RandomStream draws(7, "rides into the bench");
  Eigen::VectorXd v(stage.arm.dof()), q = stage.arm.home;
  for (int k = 0; k <= number; ++k) {
    for (int i = 0; i < v.size(); ++i) v[i] = draws.Uniform(-1.5, 1.5);
  }
  Ride ride;
  for (int tick = 0; tick < 90; ++tick) {
    const Eigen::VectorXd slowed = guarded ? guard.Slowed(q, v) : v;
    ride.slowed += (slowed - v).norm() > 1e-9;
    q += kTick_s * slowed;
    for (int i = 0; i < q.size(); ++i) {
      const Joint& joint = stage.arm.joints[static_cast<size_t>(i)];
      q[i] = std::clamp(q[i], joint.lower, joint.upper);
    }
    ride.least_m = std::min(ride.least_m, guard.Gap_m(q));
  }
  return ride;
}

TEST(StillGuard, KeepsAnyConstantDriveOffEveryShippedBench) {
  int struck_without = 0;
  for (const std::string& bench : ListScenes(SceneKind::kBench)) {
    for (const std::string& arm : ListScenes(SceneKind::kArm)) {
      const Stage stage = StageOf(bench, arm);
      const StillGuard guard(stage);
      for (int number = 0; number < 40; ++number) {
        struck_without += Drive(stage, guard, false, number).least_m <= 0;
        // 25 mm are kept at an endless rate; at 30 Hz a corner that turns in may take some of them.
        EXPECT_GT(Drive(stage, guard, true, number).least_m, 0.005) << bench << ", " << arm << ", ride " << number;
      }
    }
  }
  EXPECT_GT(struck_without, 20) << "the rides would prove nothing if they struck nothing unguarded";
}

TEST(StillGuard, LeavesMotionAloneFarFromAllThatStands) {
  Bench high;  // the arm hangs two metres over a bench of the usual height
  high.X_WB.translation() = Eigen::Vector3d(0, 0.5, 3.2);
  const Stage stage =
      MakeStage(high, ReadArm(FindScene(SceneKind::kArm, "reed")), ReadCamera(FindScene(SceneKind::kCamera, "zoom")));
  const StillGuard guard(stage);
  const Ride ride = Drive(stage, guard, true, 3);
  EXPECT_EQ(ride.slowed, 0);
  EXPECT_DOUBLE_EQ(ride.least_m, 1) << "nothing within a metre";
}

}  // namespace
}  // namespace dryrig
