// What a take costs, as multiples of real time, and next to it in the same run the plain Bullet loop of the same world.
#include <benchmark/benchmark.h>

#include <chrono>
#include <cmath>
#include <map>
#include <memory>
#include <string>

#include "BulletDynamics/Featherstone/btMultiBodyConstraintSolver.h"
#include "BulletDynamics/Featherstone/btMultiBodyDynamicsWorld.h"
#include "BulletDynamics/Featherstone/btMultiBodyJointMotor.h"
#include "BulletDynamics/Featherstone/btMultiBodyLinkCollider.h"
#include "metrics/metric.h"
#include "policies/table.h"
#include "scenes/catalogue.h"
#include "sim/arm_world.h"
#include "sim/bullet.h"
#include "sim/kinematics.h"
#include "sim/run.h"
#include "sim/tracker.h"

namespace dryrig {
namespace {

constexpr double kPhysicsHz = 240;
constexpr double kControlHz = 30;

TakeSetup Setup(const std::string& arm, const std::string& lesson) {
  TakeSetup setup;
  setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, lesson));
  setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                          ReadCamera(FindScene(SceneKind::kCamera, ListScenes(SceneKind::kCamera).front())));
  setup.person = ReadPerson(FindScene(SceneKind::kPerson, setup.lesson.person));
  setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "good"));
  setup.policy = "follow";
  return setup;
}

/// A joint's wave: the arm is never still.
JointSetPoint Wave(const Eigen::VectorXd& home, double t_s) {
  JointSetPoint wish;
  wish.q = home.array() + 0.1 * std::sin(2 * t_s);
  wish.qd = Eigen::VectorXd::Constant(home.size(), 0.2 * std::cos(2 * t_s));
  wish.qdd = Eigen::VectorXd::Constant(home.size(), -0.4 * std::sin(2 * t_s));
  return wish;
}

/// The same arm, bench and props as a user of Bullet would write them: one position motor a joint, nothing else.
class PlainBullet {
 public:
  explicit PlainBullet(const TakeSetup& setup) : home_(setup.stage.arm.home) {
    const Stage& stage = setup.stage;
    world_.setGravity(btVector3(0, 0, -9.81));
    arm_ = MakeMultiBody(stage.arm, stage.bench.X_WB, home_);
    world_.addMultiBody(arm_.get());
    btAlignedObjectArray<btQuaternion> turn;
    btAlignedObjectArray<btVector3> place;
    for (int i = 0; i < stage.arm.dof(); ++i) {
      Eigen::Vector3d moments;
      const Eigen::Isometry3d X_FL = PrincipalFrame(stage.arm.links[i], &moments).inverse();
      colliders_.push_back(std::make_unique<btMultiBodyLinkCollider>(arm_.get(), i));
      colliders_.back()->setCollisionShape(shapes_.Make(stage.arm.links[i].bodies, X_FL));
      arm_->getLink(i).m_collider = colliders_.back().get();
    }
    arm_->forwardKinematics(turn, place);
    arm_->updateCollisionObjectWorldTransforms(turn, place);
    for (auto& collider : colliders_) world_.addCollisionObject(collider.get(), 4, 2);
    for (int i = 0; i < stage.arm.dof(); ++i) {
      motors_.push_back(std::make_unique<btMultiBodyJointMotor>(arm_.get(), i, 0, stage.arm.joints[i].effort / kPhysicsHz));
      motors_.back()->finalizeMultiDof();
      world_.addMultiBodyConstraint(motors_.back().get());
    }
    const Body top = BenchTop(stage.bench);
    Add(top.shape, top.X_LS, 0, 1, 2);
    for (const Prop& prop : setup.lesson.props) {
      Eigen::Isometry3d X_WP = Eigen::Isometry3d::Identity();
      X_WP.translation() = Eigen::Vector3d(prop.at_m.x(), prop.at_m.y(), stage.bench.height_m + prop.shape.BoundingRadius());
      Add(prop.shape, X_WP, prop.mass_kg, 2, 7);
    }
  }

  ~PlainBullet() {
    for (auto& motor : motors_) world_.removeMultiBodyConstraint(motor.get());
    for (auto& body : bodies_) world_.removeRigidBody(body.get());
    for (auto& collider : colliders_) world_.removeCollisionObject(collider.get());
    world_.removeMultiBody(arm_.get());
  }

  void Step() {
    const double t_s = ticks_++ / kPhysicsHz;
    for (int i = 0; i < int(motors_.size()); ++i) motors_[i]->setPositionTarget(home_[i] + 0.1 * std::sin(2 * t_s), 0.5);
    world_.stepSimulation(1 / kPhysicsHz, 0);
  }

 private:
  void Add(const Shape& shape, const Eigen::Isometry3d& X_WS, double mass_kg, int group, int mask) {
    btCollisionShape* solid = shapes_.Make(shape);
    btVector3 inertia(0, 0, 0);
    if (mass_kg > 0) solid->calculateLocalInertia(mass_kg, inertia);
    bodies_.push_back(std::make_unique<btRigidBody>(mass_kg, nullptr, solid, inertia));
    bodies_.back()->setWorldTransform(ToBt(X_WS));
    world_.addRigidBody(bodies_.back().get(), group, mask);
  }

  Eigen::VectorXd home_;
  BulletShapes shapes_;
  btDefaultCollisionConfiguration configuration_;
  btCollisionDispatcher dispatcher_{&configuration_};
  btDbvtBroadphase broadphase_;
  btMultiBodyConstraintSolver solver_;
  btMultiBodyDynamicsWorld world_{&dispatcher_, &broadphase_, &solver_, &configuration_};
  std::unique_ptr<btMultiBody> arm_;
  std::vector<std::unique_ptr<btMultiBodyLinkCollider>> colliders_;
  std::vector<std::unique_ptr<btMultiBodyJointMotor>> motors_;
  std::vector<std::unique_ptr<btRigidBody>> bodies_;
  long ticks_ = 0;
};

double Seconds() {
  return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

/// Seconds a tick of the plain loop takes, measured once an arm and lesson, just before it is first compared.
double PlainTick_s(const std::string& arm, const std::string& lesson) {
  static std::map<std::string, double> known;
  const auto [it, fresh] = known.try_emplace(arm + " " + lesson, 0);
  if (fresh) {
    PlainBullet world(Setup(arm, lesson));
    const auto run = [&](int ticks) {
      const double start_s = Seconds();
      for (int i = 0; i < ticks; ++i) world.Step();
      return (Seconds() - start_s) / ticks;
    };
    run(2000);  // props come to rest, memory is warm
    it->second = run(20'000);
    for (int again = 0; again < 4; ++again) it->second = std::min(it->second, run(20'000));
  }
  return it->second;
}

/// Counters every benchmark here prints: simulated seconds a second, and its tick's cost over the plain loop's.
void Report(benchmark::State& state, double ticks, double seconds, const std::string& arm, const std::string& lesson) {
  state.counters["x_real_time"] = ticks / kPhysicsHz / seconds;
  state.counters["us_per_tick"] = 1e6 * seconds / ticks;
  state.counters["x_plain_bullet"] = seconds / ticks / PlainTick_s(arm, lesson);
}

void PlainBulletStep(benchmark::State& state, const std::string& arm, const std::string& lesson) {
  PlainBullet world(Setup(arm, lesson));
  for (int i = 0; i < 2000; ++i) world.Step();
  const double start_s = Seconds();
  for (auto _ : state) world.Step();
  Report(state, double(state.iterations()), Seconds() - start_s, arm, lesson);
}

void ArmWorldStep(benchmark::State& state, const std::string& arm, const std::string& lesson) {
  const TakeSetup setup = Setup(arm, lesson);
  ArmWorld world(setup.stage, setup.lesson.props, setup.stage.arm.home, kPhysicsHz);
  const std::vector<PropPose> free(setup.lesson.props.size());
  long tick = 0;
  const auto step = [&] { world.Step(Wave(setup.stage.arm.home, double(tick++) / kPhysicsHz), free); };
  for (int i = 0; i < 2000; ++i) step();
  const double start_s = Seconds();
  for (auto _ : state) step();
  Report(state, double(state.iterations()), Seconds() - start_s, arm, lesson);
}

/// One control period of the tracker behind a camera target that moves all the time.
void TrackerFollow(benchmark::State& state, const std::string& arm, const std::string& lesson) {
  const TakeSetup setup = Setup(arm, lesson);
  Tracker tracker(setup.stage, setup.stage.arm.home, kControlHz);
  const Eigen::Isometry3d X_0 = setup.stage.bench.X_WB * CameraPose(setup.stage.arm, setup.stage.arm.home);
  long tick = 0;
  for (auto _ : state) {
    const double t_s = double(tick++) / kControlHz;
    CameraTarget target;
    target.X_WC = X_0;
    target.X_WC.translation().x() += 0.05 * std::sin(t_s);
    target.v_WC.x() = 0.05 * std::cos(t_s);
    Move move;
    move.motion = target;
    tracker.Follow(move);
    tracker.Advance();
  }
}

void TakeAlone(benchmark::State& state, const std::string& arm, const std::string& lesson) {
  const TakeSetup setup = Setup(arm, lesson);
  double ticks = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    const auto policy = FindPolicy("follow").make({});
    ticks += double(RunTake(setup, *policy).ticks.size());
  }
  Report(state, ticks, Seconds() - start_s, arm, lesson);
}

void MetricsAlone(benchmark::State& state, const std::string& arm, const std::string& lesson) {
  const auto policy = FindPolicy("follow").make({});
  const Take take = RunTake(Setup(arm, lesson), *policy);
  const double start_s = Seconds();
  for (auto _ : state) benchmark::DoNotOptimize(ScoreTake(take));
  Report(state, double(take.ticks.size()) * double(state.iterations()), Seconds() - start_s, arm, lesson);
}

void TakeWithAllMetrics(benchmark::State& state, const std::string& arm, const std::string& lesson) {
  const TakeSetup setup = Setup(arm, lesson);
  double ticks = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    const auto policy = FindPolicy("follow").make({});
    const Take take = RunTake(setup, *policy);
    benchmark::DoNotOptimize(ScoreTake(take));
    ticks += double(take.ticks.size());
  }
  Report(state, ticks, Seconds() - start_s, arm, lesson);
}

void RegisterAll() {
  const std::string lesson = ListScenes(SceneKind::kLesson).front();
  for (const std::string& arm : ListScenes(SceneKind::kArm)) {
    const auto add = [&](const char* name, auto* work) {
      return benchmark::RegisterBenchmark((std::string(name) + "/" + arm).c_str(),
                                          [=](benchmark::State& state) { work(state, arm, lesson); });
    };
    add("PlainBulletStep", PlainBulletStep)->Unit(benchmark::kMicrosecond);
    add("ArmWorldStep", ArmWorldStep)->Unit(benchmark::kMicrosecond);
    add("TrackerFollow", TrackerFollow)->Unit(benchmark::kMicrosecond);
    add("TakeAlone", TakeAlone)->Unit(benchmark::kMillisecond);
    add("MetricsAlone", MetricsAlone)->Unit(benchmark::kMillisecond);
    add("TakeWithAllMetrics", TakeWithAllMetrics)->Unit(benchmark::kMillisecond);
  }
}

}  // namespace
}  // namespace dryrig

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  dryrig::RegisterAll();
  benchmark::RunSpecifiedBenchmarks();
  benchmark::Shutdown();
  return 0;
}
