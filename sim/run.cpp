#include "sim/run.h"

#include <fmt/format.h>

#include <cmath>

#include "scenes/error.h"
#include "scenes/recorded_lesson.h"
#include "sim/kinematics.h"
#include "sim/rng.h"
#include "sim/take_parts.h"

namespace dryrig {

namespace {

/// How many steps of `fast_hz` make one of `slow_hz`. @throws InputError unless it is a whole number.
int WholeRatio(double fast_hz, double slow_hz, const char* slow_name) {
  const double ratio = fast_hz / slow_hz;
  const double whole = std::round(ratio);
  if (!(whole >= 1) || std::abs(ratio - whole) > 1e-9 * whole) {
    throw InputError(fmt::format("physics rate {} Hz is not a whole multiple of the {} rate {} Hz; try {} Hz", fast_hz, slow_name,
                                 slow_hz, slow_hz * std::max(1.0, std::ceil(ratio))));
  }
  return static_cast<int>(whole);
}

}  // namespace

TakeIdentity IdentityOf(const TakeSetup& setup) {
  TakeIdentity id;
  id.lesson = setup.lesson.name;
  id.policy = setup.policy;
  id.params = setup.params;
  id.arm = setup.stage.arm.name;
  id.bench = setup.stage.bench.name;
  id.person = setup.person.name;
  id.camera = setup.stage.camera.name;
  id.sensing = setup.sensing.name;
  id.seed = setup.seed;
  id.physics_hz = setup.physics_hz;
  id.control_hz = setup.control_hz;
  id.frame_hz = setup.stage.camera.frame_rate_hz;
  std::string all = fmt::format("{} {}", setup.decision_latency_s, setup.max_s);
  for (const std::string* text : {&setup.lesson.text, &setup.stage.arm.text, &setup.stage.bench.text, &setup.person.text,
                                  &setup.stage.camera.text, &setup.sensing.text}) {
    all += '\0' + *text;
  }
  if (setup.lesson.recorded) {
    for (const RecordedFile& file : setup.lesson.recorded->files)
      all += fmt::format("{}{}:{:016x}", '\0', file.kind, HashText(file.text));
  }
  id.inputs_hash = fmt::format("{:016x}", HashText(all));
  return id;
}

void RequireRates(const TakeSetup& setup) {
  if (!(setup.physics_hz >= 120 && setup.physics_hz <= 1000)) {
    throw InputError(fmt::format("physics rate {} Hz is outside [120, 1000] Hz", setup.physics_hz));
  }
  WholeRatio(setup.physics_hz, setup.control_hz, "control");
  WholeRatio(setup.physics_hz, setup.stage.camera.frame_rate_hz, "frame");
}

TakeRun::TakeRun(const TakeSetup& setup)
    : setup_(&setup),
      ticks_per_control_((RequireRates(setup), RequireFits(setup.faults, setup.stage.arm),
                          WholeRatio(setup.physics_hz, setup.control_hz, "control"))),
      ticks_per_frame_(WholeRatio(setup.physics_hz, setup.stage.camera.frame_rate_hz, "frame")),
      thinking_periods_(static_cast<size_t>(std::ceil(setup.decision_latency_s * setup.control_hz - 1e-9))),
      performance_(setup.lesson, setup.stage.bench, setup.person, setup.seed),
      take_(PrepareTake(setup, performance_)),
      person_(performance_, setup.person.startle, setup.faults),
      sensors_(setup.sensing, setup.lesson, setup.stage.bench, performance_, setup.seed, &person_),
      world_(setup.stage, setup.lesson.props, setup.stage.arm.home, setup.physics_hz, setup.faults),
      tracker_(setup.stage, setup.stage.arm.home, setup.control_hz),
      lens_{setup.stage.camera.focal_min_m, 1.0},
      focal_wish_m_(lens_.focal_m),
      focus_wish_m_(lens_.focus_m),
      before_(person_.PoseAt(0)),
      X_WL_before_(world_.X_WL()) {
  const auto ticks = static_cast<size_t>(std::floor(take_.duration_s * setup.physics_hz)) + 1;
  take_.ticks.resize(ticks);
  if (setup.governor) {
    governor_ = std::make_unique<Governor>(*setup.governor, setup.stage, take_.person, setup.stage.arm.home, setup.physics_hz,
                                           setup.control_hz, setup.seed);
  }
  take_.frames.reserve(ticks / static_cast<size_t>(ticks_per_frame_) + 1);
}

Observation TakeRun::Observe() {
  if (done()) throw RunError("the take is over: there is nothing left to observe");
  const double t_s = t_s_now();
  if (!sensed_) {
    if (tick_ > 0 && !governor_) tracker_.Advance();
    sensors_.Sense(t_s);
    arm_ = {world_.q(), world_.qd(), world_.X_WC()};
    sensed_ = true;
  }
  return {t_s, sensors_.person(), sensors_.props(), sensors_.heard(), arm_, lens_, setup_->stage};
}

Observation TakeRun::LastSeen() const {
  return {t_s_now(), sensors_.person(), sensors_.props(), sensors_.heard(), arm_, lens_, setup_->stage};
}

void TakeRun::Advance(Move move) {
  Observe();
  thinking_.push_back(std::move(move));
  chosen_ = thinking_.back().chosen;
  if (thinking_.size() > thinking_periods_) {
    if (governor_)
      governor_->Follow(thinking_.front());
    else
      tracker_.Follow(thinking_.front());
    focal_wish_m_ = thinking_.front().focal_m;
    focus_wish_m_ = thinking_.front().focus_m;
    thinking_.pop_front();
  }
  sensed_ = false;
  const double dt_s = 1 / setup_->physics_hz;
  for (int in_control = 0; in_control < ticks_per_control_ && !done(); ++in_control) Tick(in_control * dt_s);
  if (done()) take_.startles = person_.startles();
}

void TakeRun::Tick(double since_control_s) {
  const double t_s = t_s_now(), dt_s = 1 / setup_->physics_hz;
  const BodyPose pose = SeenFromBench(setup_->faults, person_.PoseAt(t_s), t_s);
  if (governor_)
    Govern(t_s, pose);
  else
    tracker_.At(since_control_s, &set_point_);
  const std::vector<Eigen::Isometry3d>& X_WL = world_.X_WL();
  TakeTick& tick = take_.ticks[tick_];
  tick.p_WC = world_.X_WC().translation();
  tick.q_WC = Eigen::Quaterniond(world_.X_WC().linear());
  tick.q = world_.q();
  tick.qd = world_.qd();
  tick.q_wish = set_point_.q;
  tick.torque = world_.torque();
  tick.clearance = NearestToPerson(take_.arm_bodies, X_WL, take_.person, pose);
  const auto approach = [&](const BodyPose& before) {
    return ApproachSpeed(tick.clearance, take_.arm_bodies[static_cast<size_t>(tick.clearance.arm_body)],
                         take_.person.capsules[static_cast<size_t>(tick.clearance.capsule)], X_WL, X_WL_before_, pose, before,
                         dt_s);
  };
  tick.approach_mps = approach(before_);
  if (setup_->person.startle.lean > 0) person_.See(t_s, tick.clearance, approach(pose));
  before_ = pose;
  X_WL_before_ = X_WL;

  std::vector<PropPose> carried = performance_.PropsAt(t_s);
  if (!setup_->faults.bench_m.isZero(0)) {
    for (PropPose& prop : carried) {
      if (prop.carrier >= 0) prop.X_WP.translation() -= BenchMoved(setup_->faults, t_s);
    }
  }
  if (tick_ % static_cast<size_t>(ticks_per_frame_) == 0) RecordFrame(pose, carried);
  if (++tick_ == take_.ticks.size()) return;
  world_.Step(set_point_, carried);
  lens_ = StepLens(setup_->stage.camera, lens_, focal_wish_m_, focus_wish_m_, dt_s);
}

void TakeRun::Govern(double t_s, const BodyPose& pose) {
  governor_->Look(t_s, pose);
  governor_->Tick(t_s, world_.X_WL(), &set_point_);
  std::vector<GovernedSpell>& spells = take_.governed;
  if (spells.empty() || spells.back().state != governor_->state()) spells.push_back({governor_->state(), t_s, t_s});
  spells.back().end_s = t_s + 1 / setup_->physics_hz;
}

void TakeRun::RecordFrame(const BodyPose& pose, const std::vector<PropPose>& carried) {
  TakeFrame frame;
  frame.X_WC = world_.X_WC();
  frame.lens = lens_;
  frame.person = pose;
  for (size_t i = 0; i < carried.size(); ++i) {
    frame.X_WP.push_back(world_.X_WP(static_cast<int>(i)));
    frame.carrier.push_back(carried[i].carrier);
  }
  frame.X_WL = world_.X_WL();
  frame.chosen = chosen_;
  frame.manipulability = Manipulability(CameraJacobian(setup_->stage.arm, take_.ticks[tick_].q));
  frame.unreachable = governor_ ? governor_->unreachable() : tracker_.unreachable();
  take_.frames.push_back(std::move(frame));
}

Take TakeRun::Finish() && {
  if (!done()) throw RunError(fmt::format("the take is not over: it stands at t = {:.3f} s", t_s_now()));
  return std::move(take_);
}

Take RunTake(const TakeSetup& setup, Policy& policy, const TakeProgress& progress) {
  TakeRun run(setup);
  policy.BackToOne(setup.stage, setup.seed);
  if (!policy.deployable()) policy.ReadKey(run.take().intents);
  while (!run.done()) {
    if (progress && !progress(run.share_done())) throw TakeStopped("the take was stopped");
    run.Advance(policy.Decide(run.Observe()));
  }
  return std::move(run).Finish();
}

}  // namespace dryrig
