#include "sim/tracker.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "sim/kinematics.h"
#include "tests/sim/test_arms.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using Eigen::VectorXd;
using test::kDeg;

constexpr double kControlHz = 30;
constexpr double kPeriod_s = 1 / kControlHz;

Move ToPosture(const VectorXd& q) {
  Move move;
  move.motion = JointTarget{q};
  return move;
}

Move ToPose(const Eigen::Isometry3d& X_WC, const Vector3d& v = Vector3d::Zero(), const Vector3d& w = Vector3d::Zero()) {
  Move move;
  move.motion = CameraTarget{X_WC, v, w};
  return move;
}

Eigen::Isometry3d PoseAt(const Stage& stage, const VectorXd& q) {
  return stage.bench.X_WB * CameraPose(stage.arm, q);
}

/// Watches set points against the arm's own limits; says which joint passed which.
class Watch {
 public:
  explicit Watch(const ArmModel& arm) : arm_(&arm) {}

  /// `dt_s` after the last one.
  std::string See(const JointSetPoint& at, double dt_s) {
    std::string passed;
    for (int i = 0; i < arm_->dof() && passed.empty(); ++i) {
      const Joint& joint = arm_->joints[i];
      const double jerk = last_ ? std::abs(at.qdd[i] - last_->qdd[i]) / dt_s : 0;
      const char* what = at.q[i] > joint.upper || at.q[i] < joint.lower ? "position"
                         : std::abs(at.qd[i]) > joint.velocity          ? "velocity"
                         : std::abs(at.qdd[i]) > joint.acceleration     ? "acceleration"
                         : jerk > joint.jerk * (1 + 1e-9)               ? "jerk"
                                                                        : nullptr;
      if (what) passed = joint.name + " " + what;
      // The set point is one motion: its parts are each other's derivatives, to second order in the distance.
      if (last_ && std::abs(at.q[i] - last_->q[i] - dt_s * (at.qd[i] + last_->qd[i]) / 2) > joint.jerk * dt_s * dt_s * dt_s) {
        passed = joint.name + " jump";
      }
    }
    last_ = at;
    return passed;
  }

 private:
  const ArmModel* arm_;
  std::optional<JointSetPoint> last_;
};

/// One control period, seen at 8 instants. Empty: nothing passed.
std::string Period(Tracker* tracker, Watch* watch, const Move* move) {
  if (move) tracker->Follow(*move);
  JointSetPoint at;
  for (int i = 0; i < 8; ++i) {
    tracker->At(kPeriod_s * i / 8, &at);
    const std::string passed = watch->See(at, kPeriod_s / 8);
    if (!passed.empty()) return passed;
  }
  tracker->Advance();
  return "";
}

/// Moves of a policy that means no good, held for up to a second or changed every period.
class Adversary {
 public:
  Adversary(const Stage& stage, uint64_t seed) : stage_(&stage), random_(seed, "adversary") {}

  Move Next() {
    if (left_-- > 0) return move_;
    left_ = random_.Uniform() < 0.5 ? 0 : static_cast<int>(random_.Uniform(0, 30));
    const double kind = random_.Uniform();
    if (kind < 0.5) {
      move_ = ToPosture(test::RandomPosture(stage_->arm, &random_, 1.5));  // often beyond the limits
    } else if (kind < 0.8) {
      move_ = ToPosture(VectorXd::Constant(stage_->arm.dof(), random_.Uniform() < 0.5 ? -1e9 : 1e9));
    } else {
      Eigen::Isometry3d X_WC = PoseAt(*stage_, test::RandomPosture(stage_->arm, &random_, 1));
      if (kind > 0.9) X_WC.translation() *= 3;
      const auto any = [&](double most) { return Vector3d(test::RandomVector(3, most, &random_)); };
      move_ = ToPose(X_WC, any(3), any(10));
    }
    return move_;
  }

 private:
  const Stage* stage_;
  RandomStream random_;
  int left_ = 0;
  Move move_;
};

std::vector<ArmModel> TestArms() {
  return {test::SixAxes(), test::SevenAxes(), test::SkewFour()};
}

TEST(Tracker, NoMovePassesALimitEver) {
  std::vector<ArmModel> arms = TestArms();
  for (const std::string& name : ListScenes(SceneKind::kArm)) arms.push_back(ReadArm(FindScene(SceneKind::kArm, name)));
  ASSERT_GE(arms.size(), 5u);
  for (const ArmModel& arm : arms) {
    SCOPED_TRACE(arm.name);
    const Stage stage = test::MakeTestStage(arm);
    Tracker tracker(stage, arm.home, kControlHz);
    Watch watch(stage.arm);
    Adversary adversary(stage, 1);
    double fastest = 0;
    JointSetPoint at;
    for (int tick = 0; tick < 21'000; ++tick) {  // over 100 000 with all arms
      const Move move = adversary.Next();
      ASSERT_EQ(Period(&tracker, &watch, tick % 113 == 0 ? nullptr : &move), "") << "tick " << tick;
      tracker.At(0, &at);
      for (int i = 0; i < arm.dof(); ++i) fastest = std::max(fastest, std::abs(at.qd[i]) / arm.joints[i].velocity);
    }
    EXPECT_GT(fastest, 0.7);  // it did not keep its limits by standing still
  }
}

/// A tracker that hopes for the best: proportional and derivative, velocity, acceleration and jerk clipped as they come.
TEST(Tracker, TheWatchCatchesOneThatDoesNotLookAhead) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  Adversary adversary(stage, 1);
  Watch watch(stage.arm);
  JointSetPoint at = test::Hold(stage.arm.home);
  std::string passed;
  for (int tick = 0; tick < 1000 && passed.empty(); ++tick) {
    const Move move = adversary.Next();
    const auto* posture = std::get_if<JointTarget>(&move.motion);
    VectorXd a_next = at.qdd;
    for (int i = 0; posture && i < stage.arm.dof(); ++i) {
      const Joint& joint = stage.arm.joints[i];
      const double goal = std::clamp(posture->q[i], joint.lower, joint.upper), step = joint.jerk * kPeriod_s;
      const double wanted = 60 * (goal - at.q[i]) - 15 * at.qd[i];
      a_next[i] = std::clamp(std::clamp(wanted, -joint.acceleration, joint.acceleration), at.qdd[i] - step, at.qdd[i] + step);
    }
    for (int i = 0; i < 8 && passed.empty(); ++i) {
      const double t = kPeriod_s * i / 8;
      JointSetPoint now = at;
      const VectorXd jerk = (a_next - at.qdd) / kPeriod_s;
      now.q += t * (at.qd + t * (at.qdd / 2 + t * jerk / 6));
      now.qd += t * (at.qdd + t * jerk / 2);
      now.qdd += t * jerk;
      passed = watch.See(now, kPeriod_s / 8);
    }
    at.q += kPeriod_s * at.qd + kPeriod_s * kPeriod_s * (2 * at.qdd + a_next) / 6;
    at.qd += kPeriod_s * (at.qdd + a_next) / 2;
    at.qdd = a_next;
  }
  EXPECT_THAT(passed, testing::AnyOf(testing::HasSubstr("velocity"), testing::HasSubstr("position")));
}

TEST(Tracker, SixtyDegreesTakeAboutASecondWithoutOvershoot) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  for (const double degrees : {60.0, -60.0, 10.0, 2.0}) {
    Tracker tracker(stage, stage.arm.home, kControlHz);
    VectorXd goal = stage.arm.home;
    goal[0] += degrees * kDeg;
    double furthest = 0, arrived_s = -1;
    JointSetPoint at;
    for (int tick = 0; tick < 60; ++tick) {
      tracker.Follow(ToPosture(goal));
      tracker.Advance();
      tracker.At(0, &at);
      const double share = (at.q[0] - stage.arm.home[0]) / (degrees * kDeg);
      furthest = std::max(furthest, share);
      if (arrived_s < 0 && std::abs(share - 1) < 0.01) arrived_s = (tick + 1) * kPeriod_s;
    }
    EXPECT_LT(arrived_s, 1.2) << degrees;
    EXPECT_GT(arrived_s, 0) << degrees;
    EXPECT_LT(furthest, 1 + 1e-9) << degrees;
  }
}

TEST(Tracker, JointsArriveTogether) {
  const Stage stage = test::MakeTestStage(test::SevenAxes());
  Tracker tracker(stage, stage.arm.home, kControlHz);
  VectorXd way(7);
  way << 60, 5, -30, 12, 0.5, -45, 20;
  const VectorXd goal = stage.arm.home + way * kDeg;
  JointSetPoint at;
  for (int tick = 0; tick < 60; ++tick) {
    tracker.Follow(ToPosture(goal));
    tracker.Advance();
    tracker.At(0, &at);
    const VectorXd share = (at.q - stage.arm.home).cwiseQuotient(way * kDeg);
    EXPECT_LT(share.maxCoeff() - share.minCoeff(), 1e-9);
  }
  EXPECT_LT((at.q - goal).cwiseAbs().maxCoeff(), 1e-9);
}

TEST(Tracker, AtRestItRests) {
  for (const ArmModel& arm : TestArms()) {
    SCOPED_TRACE(arm.name);
    const Stage stage = test::MakeTestStage(arm);
    VectorXd near = arm.home.array() + 0.3;
    for (const Move& move : {ToPosture(near), ToPose(PoseAt(stage, near)), ToPosture(VectorXd::Constant(arm.dof(), 100))}) {
      Tracker tracker(stage, arm.home, kControlHz);
      for (int tick = 0; tick < 300; ++tick) {
        tracker.Follow(move);
        tracker.Advance();
      }
      JointSetPoint first, at;
      tracker.At(0, &first);
      EXPECT_TRUE(first.qd.isZero(0));
      EXPECT_TRUE(first.qdd.isZero(0));
      for (int tick = 0; tick < 30; ++tick) {
        tracker.Follow(move);
        tracker.At(kPeriod_s / 2, &at);
        EXPECT_EQ(at.q, first.q);
        EXPECT_TRUE(at.qdd.isZero(0));
        tracker.Advance();
      }
    }
  }
}

TEST(Tracker, TheSetPointDoesNotDependOnThePhysicsRate) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  Tracker coarse(stage, stage.arm.home, kControlHz), fine(stage, stage.arm.home, kControlHz);
  const Move move = ToPosture(stage.arm.home.array() + 0.4);
  JointSetPoint a, b, end, start;
  for (int tick = 0; tick < 20; ++tick) {
    coarse.Follow(move);
    fine.Follow(move);
    for (int i = 0; i < 8; ++i) {
      coarse.At(i / 240.0, &a);
      fine.At(2 * i / 480.0, &b);
      EXPECT_EQ(a.q, b.q);
      fine.At((2 * i + 1) / 480.0, &b);
    }
    coarse.At(kPeriod_s, &end);
    coarse.Advance();
    fine.Advance();
    coarse.At(0, &start);  // no seam between periods
    EXPECT_LT((start.q - end.q).cwiseAbs().maxCoeff(), 1e-14);
    EXPECT_LT((start.qd - end.qd).cwiseAbs().maxCoeff(), 1e-14);
    EXPECT_LT((start.qdd - end.qdd).cwiseAbs().maxCoeff(), 1e-13);
  }
}

TEST(Tracker, ReachesCameraPosesInReach) {
  RandomStream random(5, "poses");
  for (const ArmModel& arm : {test::SixAxes(), test::SevenAxes()}) {
    SCOPED_TRACE(arm.name);
    const Stage stage = test::MakeTestStage(arm, 0.6);
    Tracker tracker(stage, arm.home, kControlHz);
    for (int trial = 0; trial < 50; ++trial) {
      const VectorXd away = 0.35 * (test::RandomPosture(arm, &random) - arm.home);  // up to 60° a joint, 120° at the flange
      const Eigen::Isometry3d X_WC = PoseAt(stage, arm.home + away);
      for (int tick = 0; tick < 150; ++tick) {
        tracker.Follow(ToPose(X_WC));
        tracker.Advance();
      }
      JointSetPoint at;
      tracker.At(0, &at);
      EXPECT_FALSE(tracker.unreachable()) << trial;
      EXPECT_LT((PoseAt(stage, at.q).translation() - X_WC.translation()).norm(), 1e-4) << trial;
      EXPECT_TRUE(PoseAt(stage, at.q).linear().isApprox(X_WC.linear(), 1e-3)) << trial;
    }
  }
}

TEST(Tracker, KeepsUpWithATargetThatTellsItsVelocity) {
  const Stage stage = test::MakeTestStage(test::SevenAxes(), 0.6);
  const Eigen::Isometry3d X_0 = PoseAt(stage, stage.arm.home);
  const Vector3d v(0.02, 0.08, -0.03);
  for (const bool told : {true, false}) {
    Tracker tracker(stage, stage.arm.home, kControlHz);
    double behind_m = 0;
    for (int tick = 0; tick < 60; ++tick) {
      Eigen::Isometry3d X_WC = X_0;
      X_WC.translation() += v * (tick * kPeriod_s);
      JointSetPoint at;
      tracker.At(0, &at);
      behind_m = (PoseAt(stage, at.q).translation() - X_WC.translation()).norm();
      tracker.Follow(ToPose(X_WC, told ? v : Vector3d(0, 0, 0)));
      tracker.Advance();
    }
    if (told) {
      EXPECT_LT(behind_m, 0.002);
    } else {
      EXPECT_GT(behind_m, 0.010);  // 0.088 m/s, a fifth of a second late
    }
  }
}

TEST(Tracker, OutOfReachItSaysSoAndAims) {
  for (const ArmModel& arm : {test::SixAxes(), test::SevenAxes()}) {
    SCOPED_TRACE(arm.name);
    const Stage stage = test::MakeTestStage(arm, 0.6);
    Tracker tracker(stage, arm.home, kControlHz);
    Eigen::Isometry3d X_WC = PoseAt(stage, arm.home);
    for (int tick = 0; tick < 10; ++tick) {
      tracker.Follow(ToPose(X_WC));
      tracker.Advance();
    }
    EXPECT_FALSE(tracker.unreachable());
    const Vector3d out = (X_WC.translation() - stage.bench.X_WB.translation()).normalized();
    X_WC.translation() = stage.bench.X_WB.translation() + 1.5 * out;
    for (int tick = 0; tick < 200; ++tick) {
      tracker.Follow(ToPose(X_WC));
      tracker.Advance();
    }
    EXPECT_TRUE(tracker.unreachable());
    JointSetPoint at;
    tracker.At(0, &at);
    const Eigen::Isometry3d X_got = PoseAt(stage, at.q);
    EXPECT_GT((X_got.translation() - X_WC.translation()).norm(), 0.1);
    EXPECT_LT(Eigen::AngleAxisd(Eigen::Matrix3d(X_got.linear().transpose() * X_WC.linear())).angle(), 10 * kDeg);
  }
}

TEST(Tracker, APostureBeyondTheLimitsIsUnreachable) {
  const Stage stage = test::MakeTestStage(test::SixAxes());
  Tracker tracker(stage, stage.arm.home, kControlHz);
  VectorXd goal = stage.arm.home;
  tracker.Follow(ToPosture(goal));
  EXPECT_FALSE(tracker.unreachable());
  goal[0] = stage.arm.joints[0].upper + 20 * kDeg;
  tracker.Follow(ToPosture(goal));
  EXPECT_TRUE(tracker.unreachable());
  goal[0] = stage.arm.joints[0].upper - 0.5 * kDeg;  // inside the limit, 1.5° inside the margin: near enough
  tracker.Follow(ToPosture(goal));
  EXPECT_FALSE(tracker.unreachable());
}

TEST(Tracker, ASpareAxisGoesHome) {
  const Stage stage = test::MakeTestStage(test::SevenAxes(), 0.6);
  VectorXd bent = stage.arm.home;
  Tracker tracker(stage, bent, kControlHz);
  bent[2] += 0.8;  // the elbow swung out
  for (int tick = 0; tick < 90; ++tick) {
    tracker.Follow(ToPosture(bent));
    tracker.Advance();
  }
  for (int tick = 0; tick < 300; ++tick) {
    tracker.Follow(ToPose(PoseAt(stage, stage.arm.home)));
    tracker.Advance();
  }
  JointSetPoint at;
  tracker.At(0, &at);
  EXPECT_LT((at.q - stage.arm.home).cwiseAbs().maxCoeff(), 0.02);
}

TEST(Tracker, RefusesAStartOutsideAndLimitsOfNothing) {
  Stage stage = test::MakeTestStage(test::SixAxes());
  VectorXd q0 = stage.arm.home;
  q0[3] = 4;
  EXPECT_THAT([&] { Tracker(stage, q0, kControlHz); },
              testing::ThrowsMessage<InputError>(testing::HasSubstr("joint j4: start at 4")));
  stage.arm.joints[1].jerk = 0;
  EXPECT_THAT([&] { Tracker(stage, stage.arm.home, kControlHz); },
              testing::ThrowsMessage<InputError>(testing::HasSubstr("joint j2")));
}

TEST(Tracker, SameMovesGiveTheSameBits) {
  const Stage stage = test::MakeTestStage(test::SevenAxes());
  const auto run = [&] {
    Tracker tracker(stage, stage.arm.home, kControlHz);
    Adversary adversary(stage, 3);
    std::vector<VectorXd> path;
    for (int tick = 0; tick < 500; ++tick) {
      tracker.Follow(adversary.Next());
      JointSetPoint at;
      tracker.At(0.01, &at);
      path.push_back(at.q);
      tracker.Advance();
    }
    return path;
  };
  EXPECT_EQ(run(), run());
}

}  // namespace
}  // namespace dryrig
