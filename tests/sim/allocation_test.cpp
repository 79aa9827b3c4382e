#include <gtest/gtest.h>

#include <cerrno>
#include <cmath>
#include <cstdlib>

#include "sim/arm_world.h"
#include "sim/kinematics.h"
#include "sim/tracker.h"
#include "tests/sim/test_arms.h"

// Counts every request for memory of this thread, whoever makes it: operator new, Eigen and Bullet all end in malloc.
// Sanitizers bring their own malloc; there the count stays at nothing and the tests below would prove nothing, so they are left
// out.
#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)

namespace {
thread_local bool counting = false;
thread_local long requests = 0;

void Count() {
  if (counting) ++requests;
}
}  // namespace

extern "C" {
void* __libc_malloc(size_t);
void* __libc_calloc(size_t, size_t);
void* __libc_realloc(void*, size_t);
void* __libc_memalign(size_t, size_t);

void* malloc(size_t bytes) {
  Count();
  return __libc_malloc(bytes);
}
void* calloc(size_t count, size_t bytes) {
  Count();
  return __libc_calloc(count, bytes);
}
void* realloc(void* old, size_t bytes) {
  Count();
  return __libc_realloc(old, bytes);
}
int posix_memalign(void** out, size_t align, size_t bytes) {
  Count();
  *out = __libc_memalign(align, bytes);
  return *out ? 0 : ENOMEM;
}
void* aligned_alloc(size_t align, size_t bytes) {
  Count();
  return __libc_memalign(align, bytes);
}
}

namespace dryrig {
namespace {

template <class Work>
long Requests(Work work) {
  requests = 0;
  counting = true;
  work();
  counting = false;
  return requests;
}

TEST(Allocation, TheCounterCounts) {
  EXPECT_EQ(Requests([] {}), 0);
  EXPECT_GE(Requests([] { Eigen::VectorXd(100).setZero(); }), 1);
  static std::unique_ptr<double> kept;  // a thing that nobody keeps may be optimised away
  EXPECT_GE(Requests([] { kept = std::make_unique<double>(1); }), 1);
}

TEST(Allocation, AStepOfTheWorldAllocatesNothing) {
  const Stage stage = test::MakeTestStage(test::SevenAxes(), 0.6);
  std::vector<Prop> props(3);
  for (size_t i = 0; i < props.size(); ++i) {
    props[i].shape = Shape::Box({0.02, 0.02, 0.02});
    props[i].at_m = {-0.3 + 0.3 * static_cast<double>(i), 0.3};
  }
  ArmWorld world(stage, props, stage.arm.home, 240);
  std::vector<PropPose> poses(props.size());
  poses[0].carrier = kRight;
  poses[1].X_WP = Eigen::Translation3d(0, 0.2, 0.9);  // dropped: it falls, touches and comes to rest while we count
  poses[1].carrier = kRight;
  JointSetPoint wish = test::Hold(stage.arm.home);
  const auto run = [&](int ticks) {
    for (int i = 0; i < ticks; ++i) {
      wish.q[0] = stage.arm.home[0] + 0.1 * std::sin(0.01 * i);
      world.Step(wish, poses);
    }
  };
  run(240);
  poses[1].carrier = -1;
  run(240);
  poses[1].carrier = kRight;
  run(10);
  EXPECT_EQ(Requests([&] { run(240); }), 0);
  poses[1].carrier = -1;
  run(1);  // the engine makes a new proxy for a prop that changes hands
  EXPECT_EQ(Requests([&] { run(480); }), 0);
}

TEST(Allocation, APeriodOfTheTrackerAllocatesNothing) {
  const Stage stage = test::MakeTestStage(test::SevenAxes(), 0.6);
  Tracker tracker(stage, stage.arm.home, 30);
  JointSetPoint wish;
  Move to_pose, to_posture;
  to_pose.motion = CameraTarget{stage.bench.X_WB * CameraPose(stage.arm, stage.arm.home.array() + 0.2), {0.1, 0, 0}, {0, 0.1, 0}};
  to_posture.motion = JointTarget{stage.arm.home};
  const auto run = [&](const Move& move) {
    for (int i = 0; i < 30; ++i) {
      tracker.Follow(move);
      for (int tick = 0; tick < 8; ++tick) tracker.At(tick / 240.0, &wish);
      tracker.Advance();
    }
  };
  run(to_pose);
  EXPECT_EQ(Requests([&] { run(to_posture); }), 0);
  EXPECT_EQ(Requests([&] { run(to_pose); }), 0);
}

}  // namespace
}  // namespace dryrig

#endif
