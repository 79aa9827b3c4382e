// What a take costs, row by row, each as multiples of real time and beside the plain Bullet loop of the same world. Time is this
// thread's processor time, so that other programs count little.
#include <benchmark/benchmark.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <ctime>
#include <map>
#include <memory>
#include <string>

#include "metrics/metric.h"
#include "policies/table.h"
#include "scenes/catalogue.h"
#include "sim/arm_world.h"
#include "sim/kinematics.h"
#include "sim/run.h"
#include "sim/sight.h"
#include "sim/tracker.h"
#include "tests/bench/bullet_loops.h"
#include "tests/bench/mujoco_peer.h"

namespace dryrig {
namespace {

using test::BulletLoop;
using test::MujocoPeer;

constexpr double kControlHz = 30;
/// (c) over (a) on the machine of tests/bench/README.md, for --check.
constexpr double kRecordedRatio = 1.71, kRatioMayMove = 0.15;

double Seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

std::string LessonName() {
  return ListScenes(SceneKind::kLesson).front();
}

const TakeSetup& Setup(const std::string& arm) {
  static std::map<std::string, TakeSetup> known;
  const auto [it, fresh] = known.try_emplace(arm);
  TakeSetup& setup = it->second;
  if (fresh) {
    setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, LessonName()));
    setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                            ReadCamera(FindScene(SceneKind::kCamera, ListScenes(SceneKind::kCamera).front())));
    setup.person = ReadPerson(FindScene(SceneKind::kPerson, setup.lesson.person));
    setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "good"));
    setup.policy = "follow";
  }
  return setup;
}

const Take& FollowTake(const std::string& arm) {
  static std::map<std::string, Take> known;
  const auto [it, fresh] = known.try_emplace(arm);
  if (fresh) it->second = RunTake(Setup(arm), *FindPolicy("follow").make({}));
  return it->second;
}

/// Least seconds a tick of some work, over a few runs of 20,000 ticks.
template <class Step>
double LeastTick_s(Step&& step, int runs) {
  double least_s = 1e9;
  for (int run = 0; run < runs; ++run) {
    const double start_s = Seconds();
    for (int i = 0; i < 20'000; ++i) step();
    least_s = std::min(least_s, (Seconds() - start_s) / 20'000);
  }
  return least_s;
}

/// The plain loop's, measured once an arm, just before it is first compared.
double PlainTick_s(const std::string& arm) {
  static std::map<std::string, double> known;
  const auto [it, fresh] = known.try_emplace(arm, 0);
  if (fresh) {
    BulletLoop world(Setup(arm), BulletLoop::How::kPlain);
    for (int i = 0; i < 2000; ++i) world.Step();  // props come to rest, memory is warm
    it->second = LeastTick_s([&] { world.Step(); }, 5);
  }
  return it->second;
}

/// `ticks`: how many were simulated meanwhile.
void Report(benchmark::State& state, double ticks, double seconds, const std::string& arm) {
  state.counters["x_real_time"] = ticks / Setup(arm).physics_hz / seconds;
  state.counters["us_per_tick"] = 1e6 * seconds / ticks;
  state.counters["x_plain_bullet"] = seconds / ticks / PlainTick_s(arm);
}

void Loop(benchmark::State& state, const std::string& arm, BulletLoop::How how) {
  BulletLoop world(Setup(arm), how);
  for (int i = 0; i < 2000; ++i) world.Step();
  const double start_s = Seconds();
  for (auto _ : state) world.Step();
  Report(state, static_cast<double>(state.iterations()), Seconds() - start_s, arm);
}

void ArmWorldStep(benchmark::State& state, const std::string& arm) {
  const TakeSetup& setup = Setup(arm);
  const Eigen::VectorXd& home = setup.stage.arm.home;
  ArmWorld world(setup.stage, setup.lesson.props, home, setup.physics_hz);
  const std::vector<PropPose> free(setup.lesson.props.size());
  JointSetPoint wish;
  long tick = 0;
  const auto step = [&] {
    const double t_s = static_cast<double>(tick++) / setup.physics_hz;
    wish.q = home.array() + 0.1 * std::sin(2 * t_s);
    wish.qd = Eigen::VectorXd::Constant(home.size(), 0.2 * std::cos(2 * t_s));
    wish.qdd = Eigen::VectorXd::Constant(home.size(), -0.4 * std::sin(2 * t_s));
    world.Step(wish, free);
  };
  for (int i = 0; i < 2000; ++i) step();
  const double start_s = Seconds();
  for (auto _ : state) step();
  Report(state, static_cast<double>(state.iterations()), Seconds() - start_s, arm);
}

/// One control period of the tracker behind a camera target that moves all the time: eight ticks.
void TrackerAlone(benchmark::State& state, const std::string& arm) {
  const TakeSetup& setup = Setup(arm);
  Tracker tracker(setup.stage, setup.stage.arm.home, kControlHz);
  const Eigen::Isometry3d X_0 = setup.stage.bench.X_WB * CameraPose(setup.stage.arm, setup.stage.arm.home);
  long period = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    const double t_s = static_cast<double>(period++) / kControlHz;
    CameraTarget target;
    target.X_WC = X_0;
    target.X_WC.translation().x() += 0.05 * std::sin(t_s);
    target.v_WC.x() = 0.05 * std::cos(t_s);
    Move move;
    move.motion = target;
    tracker.Follow(move);
    tracker.Advance();
  }
  Report(state, static_cast<double>(state.iterations()) * setup.physics_hz / kControlHz, Seconds() - start_s, arm);
}

void TakeOf(benchmark::State& state, const std::string& arm, const std::string& policy_name, bool scored) {
  double ticks = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    const Take take = RunTake(Setup(arm), *FindPolicy(policy_name).make({}));
    if (scored) benchmark::DoNotOptimize(ScoreTake(take));
    ticks += static_cast<double>(take.ticks.size());
  }
  Report(state, ticks, Seconds() - start_s, arm);
}

void MetricsAlone(benchmark::State& state, const std::string& arm) {
  const Take& take = FollowTake(arm);
  const double start_s = Seconds();
  for (auto _ : state) benchmark::DoNotOptimize(ScoreTake(take));
  Report(state, static_cast<double>(take.ticks.size()) * static_cast<double>(state.iterations()), Seconds() - start_s, arm);
}

Shot OfHands() {
  Shot shot;
  shot.subjects = {{SubjectKind::kHands, {}}};
  return shot;
}

/// From the camera to every landmark of both hands, at every frame.
void SightAlone(benchmark::State& state, const std::string& arm) {
  const Take& take = FollowTake(arm);
  SightScene scene(take);
  std::vector<SubjectSample> samples;
  const Shot shot = OfHands();
  int blocked = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    for (const TakeFrame& frame : take.frames) {
      scene.SetFrame(frame);
      SubjectSamples(take, frame, shot, &samples);
      for (const SubjectSample& sample : samples) blocked += scene.FirstBlocker(frame.X_WC.translation(), sample) >= 0;
    }
  }
  benchmark::DoNotOptimize(blocked);
  Report(state, static_cast<double>(take.ticks.size()) * static_cast<double>(state.iterations()), Seconds() - start_s, arm);
}

/// Nearest of every arm body and every capsule, at every tick; poses and links are at hand.
void DistancesAlone(benchmark::State& state, const std::string& arm) {
  const Take& take = FollowTake(arm);
  const auto ticks_a_frame = static_cast<size_t>(std::lround(take.id.physics_hz / take.id.frame_hz));
  double nearest_m = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    for (const TakeFrame& frame : take.frames) {
      for (size_t i = 0; i < ticks_a_frame; ++i)
        nearest_m += NearestToPerson(take.arm_bodies, frame.X_WL, take.person, frame.person).distance_m;
    }
  }
  benchmark::DoNotOptimize(nearest_m);
  Report(state, static_cast<double>(take.frames.size() * ticks_a_frame) * static_cast<double>(state.iterations()),
         Seconds() - start_s, arm);
}

void PoseAtAlone(benchmark::State& state, const std::string& arm) {
  const TakeSetup& setup = Setup(arm);
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, 1);
  const auto ticks = static_cast<long>(performance.duration_s() * setup.physics_hz);
  long tick = 0;
  const double start_s = Seconds();
  for (auto _ : state) benchmark::DoNotOptimize(performance.PoseAt(static_cast<double>(tick++ % ticks) / setup.physics_hz));
  Report(state, static_cast<double>(state.iterations()), Seconds() - start_s, arm);
}

/// All files of a take read, the performance laid out, the first tick run: once a take.
void LoadAndCompile(benchmark::State& state, const std::string& arm) {
  for (auto _ : state) {
    TakeSetup setup;
    setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, LessonName()));
    setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)), ReadArm(FindScene(SceneKind::kArm, arm)),
                            ReadCamera(FindScene(SceneKind::kCamera, ListScenes(SceneKind::kCamera).front())));
    setup.person = ReadPerson(FindScene(SceneKind::kPerson, setup.lesson.person));
    setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "good"));
    setup.max_s = 1e-3;
    benchmark::DoNotOptimize(RunTake(setup, *FindPolicy("follow").make({})));
  }
}

/// Person moved and arm stepped each tick, distances within 0.3 m with them, rays to all landmarks at each frame. No policy,
/// tracker, sensing, metrics, and the poses are laid ready.
void Mujoco(benchmark::State& state, const std::string& arm) {
  const TakeSetup& setup = Setup(arm);
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, 1);
  std::vector<BodyPose> poses;
  for (int tick = 0; tick < 4800; ++tick) poses.push_back(performance.PoseAt(tick / setup.physics_hz));
  MujocoPeer peer(setup);
  const Eigen::Vector3d p_WC = (setup.stage.bench.X_WB * CameraPose(setup.stage.arm, setup.stage.arm.home)).translation();
  size_t tick = 0;
  int seen = 0;
  double nearest_m = 0;
  const double start_s = Seconds();
  for (auto _ : state) {
    const BodyPose& pose = poses[tick % poses.size()];
    peer.Step(pose);
    nearest_m += peer.Nearest_m();
    if (tick++ % 8 == 0) seen += peer.Seen(p_WC, {pose.p_W.data() + kHandL, size_t{2} * kHandLandmarks});
  }
  state.counters["seen_a_frame"] = static_cast<double>(seen) / (static_cast<double>(tick) / 8);
  benchmark::DoNotOptimize(nearest_m);
  Report(state, static_cast<double>(state.iterations()), Seconds() - start_s, arm);
}

void RegisterAll() {
  for (const std::string& arm : ListScenes(SceneKind::kArm)) {
    const auto add = [&](const char* row, auto work) {
      return benchmark::RegisterBenchmark((std::string(row) + "/" + arm).c_str(),
                                          [=](benchmark::State& state) { work(state, arm); });
    };
    using State = benchmark::State;
    using Name = const std::string&;
    const auto take = [](const char* policy, bool scored) {
      return [=](State& state, Name arm_name) { TakeOf(state, arm_name, policy, scored); };
    };
    add("a plain Bullet loop", [](State& s, Name a) { Loop(s, a, BulletLoop::How::kPlain); })->Unit(benchmark::kMicrosecond);
    add("b lean Bullet loop", [](State& s, Name a) { Loop(s, a, BulletLoop::How::kLean); })->Unit(benchmark::kMicrosecond);
    add("- our arm world", ArmWorldStep)->Unit(benchmark::kMicrosecond);
    add("- follow, not scored", take("follow", false))->Unit(benchmark::kMillisecond);
    add("c follow, all metrics", take("follow", true))->Unit(benchmark::kMillisecond);
    add("d planner, all metrics", take("planner", true))->Unit(benchmark::kMillisecond);
    if (FindPolicyIfKnown("horizon") != nullptr)
      add("e horizon, all metrics", take("horizon", true))->Unit(benchmark::kMillisecond);
    add("f metrics alone", MetricsAlone)->Unit(benchmark::kMillisecond);
    add("g sight lines alone", SightAlone)->Unit(benchmark::kMillisecond);
    add("h distances alone", DistancesAlone)->Unit(benchmark::kMillisecond);
    add("i pose_at", PoseAtAlone)->Unit(benchmark::kMicrosecond);
    add("- tracker alone", TrackerAlone)->Unit(benchmark::kMicrosecond);
    add("j load and compile", LoadAndCompile)->Unit(benchmark::kMillisecond);
    add("k MuJoCo peer", Mujoco)->Unit(benchmark::kMicrosecond);
  }
}

/// (c) over (a), the least of each of some interleaved runs: 0 if that is where it was recorded, else 1.
int Check() {
  const std::string arm = ListScenes(SceneKind::kArm).front();
  BulletLoop plain(Setup(arm), BulletLoop::How::kPlain);
  for (int i = 0; i < 2000; ++i) plain.Step();
  double plain_s = 1e9, scored_s = 1e9;
  for (int run = 0; run < 7; ++run) {
    plain_s = std::min(plain_s, LeastTick_s([&] { plain.Step(); }, 1));
    const double start_s = Seconds();
    const Take take = RunTake(Setup(arm), *FindPolicy("follow").make({}));
    benchmark::DoNotOptimize(ScoreTake(take));
    scored_s = std::min(scored_s, (Seconds() - start_s) / static_cast<double>(take.ticks.size()));
  }
  const double ratio = scored_s / plain_s;
  const bool held = std::abs(ratio / kRecordedRatio - 1) <= kRatioMayMove;
  fmt::print("(c) over (a): {:.3f}, recorded {:.3f} within {:.0f} %: {}\n", ratio, kRecordedRatio, 100 * kRatioMayMove,
             held ? "held" : "MOVED; look at what changed, or record it anew");
  return held ? 0 : 1;
}

}  // namespace
}  // namespace dryrig

int main(int argc, char** argv) {
  if (argc == 2 && std::strcmp(argv[1], "--check") == 0) return dryrig::Check();
  benchmark::Initialize(&argc, argv);
  if (benchmark::ReportUnrecognizedArguments(argc, argv)) return 2;
  dryrig::RegisterAll();
  benchmark::RunSpecifiedBenchmarks();
  benchmark::Shutdown();
  return 0;
}
