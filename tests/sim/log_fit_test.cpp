// What a log tells of the arm that made it: a made-up set with hidden servo, friction, time step, mount, clocks and tracker is
// recorded, and the hidden numbers are to be found again.
#include "sim/log_fit.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <numbers>

#include "scenes/error.h"
#include "sim/delay.h"
#include "tests/sim/real_set.h"

namespace dryrig {
namespace {

using ::testing::HasSubstr;
using testing::Hidden;
using testing::RealSet;
using testing::RecordSet;

constexpr double kDegree = std::numbers::pi / 180;

TakeSetup Rehearsal() {
  TakeSetup setup;
  setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
  setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)),
                          ReadArm(FindScene(SceneKind::kArm, "heron")), ReadCamera(FindScene(SceneKind::kCamera, "prime")));
  setup.person = ReadPerson(FindScene(SceneKind::kPerson, setup.lesson.person));
  setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "good"));
  setup.max_s = 20;
  return setup;
}

/// A mount that is up to 15 mm and 2 deg off, anywhere.
Eigen::Isometry3d Elsewhere(const Eigen::Isometry3d& X_EC, RandomStream* rng) {
  const auto direction = [&] { return Eigen::Vector3d(rng->Normal(), rng->Normal(), rng->Normal()).normalized(); };
  Eigen::Isometry3d off = Eigen::Isometry3d::Identity();
  off.translation() = rng->Uniform(0, 0.015) * direction();
  off.linear() = Eigen::AngleAxisd(rng->Uniform(0, 2) * kDegree, direction()).toRotationMatrix();
  return X_EC * off;
}

Hidden RandomHidden(const TakeSetup& setup, uint64_t seed) {
  RandomStream rng(seed, "hidden");
  Hidden out;
  out.seed = seed;
  out.latency_s = rng.Uniform(0.004, 0.06);
  out.bandwidth_hz = rng.Uniform(3, 10);
  out.damping_ratio = rng.Uniform(0.7, 1.4);
  out.friction_rad_s2 = rng.Uniform(0, 1);
  out.other_form = true;
  out.tracker_s = rng.Uniform(0.03, 0.2);
  out.clock_s = rng.Uniform(-50, 50);
  out.clock_rate = 1 + rng.Uniform(-2e-4, 2e-4);
  out.X_EC = Elsewhere(setup.stage.arm.X_EC, &rng);
  return out;
}

/// What was found less what was hidden.
struct Found {
  double latency_s, tracker_s, mount_m, mount_rad, clock_s;
  bool latency_known;
};
Found Fit(const TakeSetup& setup, const Hidden& hidden) {
  const RealSet set = RecordSet(setup, "planner", hidden);
  const JointLog log = ParseJointLog(set.joints, "joints.csv", setup.stage.arm);
  const CameraTrack track = ParseCameraTrack(set.camera, "camera.csv");
  const LogClock clock = FindLogClock(log, track, setup.stage.arm);
  const ServoFit servo = FitServo(setup.stage, log);
  const MountFit mount = FitMount(setup.stage, log, track, clock);
  const Recording outside = ParseRecording(set.person, "person.csv", {}, {}),
                  live = ParseRecording(set.live_person, "live.csv", {}, {});
  const Estimate tracker = FitTrackerDelay(outside, live, clock);
  return {servo.latency_s.value - hidden.latency_s,
          tracker.value - hidden.tracker_s,
          (mount.X_EC.translation() - hidden.X_EC.translation()).norm(),
          Eigen::AngleAxisd(mount.X_EC.linear().transpose() * hidden.X_EC.linear()).angle(),
          clock.LogTime(10) - (hidden.clock_s + hidden.clock_rate * 10),
          servo.latency_s.known};
}

/// How many of `cases` came within 5 ms, 10 ms, and 3 mm and 0.5 deg.
struct Within {
  uint64_t latency = 0, tracker = 0, mount = 0;
};
Within FindAgain(uint64_t cases) {
  const TakeSetup setup = Rehearsal();
  Within within;
  double most_clock_s = 0;
  for (uint64_t seed = 1; seed <= cases; ++seed) {
    const Found off = Fit(setup, RandomHidden(setup, seed));
    within.latency += off.latency_known && std::abs(off.latency_s) < 0.005;
    within.tracker += std::abs(off.tracker_s) < 0.010;
    within.mount += off.mount_m < 0.003 && off.mount_rad < 0.5 * kDegree;
    most_clock_s = std::max(most_clock_s, std::abs(off.clock_s));
    if (cases <= 5) {
      fmt::print("latency off {:+.2f} ms, tracker {:+.2f} ms, mount {:.2f} mm {:.3f} deg, clock {:+.2f} ms\n",
                 off.latency_s * 1e3, off.tracker_s * 1e3, off.mount_m * 1e3, off.mount_rad / kDegree, off.clock_s * 1e3);
    }
  }
  fmt::print(
      "of {}: latency within 5 ms {}, tracker within 10 ms {}, mount within 3 mm and 0.5 deg {}; clock off by {:.2f} ms at "
      "most\n",
      cases, within.latency, within.tracker, within.mount, most_clock_s * 1e3);
  return within;
}

TEST(LogFit, FindsWhatIsHidden) {
  const Within found = FindAgain(2);
  EXPECT_EQ(found.latency, 2u);
  EXPECT_EQ(found.tracker, 2u);
  EXPECT_EQ(found.mount, 2u);
}
TEST(LogFitLong, FindsWhatIsHiddenInAHundredRandomSets) {
  const Within found = FindAgain(100);
  EXPECT_GE(found.latency, 95u);
  EXPECT_GE(found.tracker, 95u);
  EXPECT_GE(found.mount, 95u);
}

TEST(Delay, OfASineIsFoundBetweenSamples) {
  const auto sine = [](double delay_s) {
    return Sampled(3, 23, 50, 1, [delay_s](double t_s, double* out) {
      *out = std::sin(1.7 * (t_s - delay_s)) + 0.5 * std::sin(0.61 * (t_s - delay_s));
    });
  };
  for (const double delay_s : {-0.237, 0.0, 0.0612, 0.5}) {
    const Delay found = FindDelay(sine(0), sine(delay_s), -1, 1);
    EXPECT_NEAR(found.delay_s, delay_s, 1e-3);  // a twentieth of a sample
    EXPECT_GT(found.match, 0.9999);
  }
  const EvenSignal still = Sampled(3, 23, 50, 1, [](double, double* out) { *out = 4; });
  EXPECT_EQ(FindDelay(sine(0), still, -1, 1).match, 0);
  EXPECT_EQ(FindDelay(sine(0), Sampled(40, 60, 50, 1, [](double t_s, double* out) { *out = t_s; }), -1, 1).match, 0);
}

TEST(LogFit, WhatALogDoesNotTellIsRefused) {
  const TakeSetup setup = Rehearsal();
  Hidden hidden;
  hidden.X_EC = setup.stage.arm.X_EC;
  const RealSet set = RecordSet(setup, "planner", hidden);
  JointLog log = ParseJointLog(set.joints, "joints.csv", setup.stage.arm);
  JointLog alone = log;
  alone.q_commanded.clear();
  EXPECT_THROW(FitServo(setup.stage, alone), InputError);
  JointLog still = log;
  for (Eigen::VectorXd& q : still.q_commanded) q = log.q_commanded.front();
  EXPECT_THROW(FitServo(setup.stage, still), InputError);
  // A camera that goes its own way has no clock in common with the joints.
  CameraTrack other = ParseCameraTrack(set.camera, "camera.csv");
  RandomStream rng(3, "other");
  Eigen::Isometry3d X = other.X_WC.front();
  for (Eigen::Isometry3d& pose : other.X_WC) {
    X = X * Eigen::AngleAxisd(0.02 * rng.Normal(), Eigen::Vector3d::UnitX());
    pose = X;
  }
  try {
    FindLogClock(log, other, setup.stage.arm);
    ADD_FAILURE() << "a clock was found";
  } catch (const InputError& error) {
    EXPECT_THAT(error.what(), HasSubstr("no common clock can be found"));
  }
}

}  // namespace
}  // namespace dryrig
