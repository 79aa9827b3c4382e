#include "sim/run.h"

#include <fmt/format.h>

#include <cmath>
#include <deque>

#include "scenes/error.h"
#include "scenes/recorded_lesson.h"
#include "sim/arm_world.h"
#include "sim/kinematics.h"
#include "sim/rng.h"
#include "sim/sensing.h"
#include "sim/tracker.h"

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

/// The take's still part.
Take PrepareTake(const TakeSetup& setup, const Performance& performance) {
  const ArmModel& arm = setup.stage.arm;
  Take take;
  take.id = IdentityOf(setup);
  take.duration_s = setup.max_s > 0 ? std::min(setup.max_s, performance.duration_s()) : performance.duration_s();
  take.beats = performance.beats();
  take.intents = performance.intents();
  take.sentences = performance.sentences();
  take.camera = setup.stage.camera;
  take.person = performance.body();
  take.bench_top = BenchTop(setup.stage.bench);
  take.keep_out = setup.stage.bench.keep_out;
  take.X_WB = setup.stage.bench.X_WB;
  take.arm_bodies = ArmBodies(arm);
  for (const Joint& joint : arm.joints) {
    take.joints.push_back({joint.name, joint.lower, joint.upper, joint.velocity, joint.acceleration, joint.effort,
                           joint.kind == JointKind::kPrismatic});
  }
  for (const Link& link : arm.links) take.moving_mass_kg += link.mass_kg;
  take.moving_mass_kg -= setup.stage.camera.mass_kg;
  take.payload_kg = setup.stage.camera.mass_kg;
  for (const Prop& prop : setup.lesson.props) {
    take.props.push_back({prop.name, prop.shape, prop.colour, prop.tip_m.value_or(Eigen::Vector3d::Zero())});
  }
  return take;
}

/// Speed at which two material points, one on an arm body and one on a capsule, close on each other; from this tick and the last.
double ApproachSpeed(const Clearance& near, const ArmBody& arm_body, const PersonCapsule& capsule,
                     const std::vector<Eigen::Isometry3d>& X_WL, const std::vector<Eigen::Isometry3d>& X_WL_before,
                     const BodyPose& pose, const BodyPose& before, double dt_s) {
  const Eigen::Vector3d apart = near.p_WArm - near.p_WPerson;
  const double length = apart.norm();
  if (length < 1e-12) return 0;
  Eigen::Vector3d arm_moved = Eigen::Vector3d::Zero();
  if (arm_body.link >= 0) {
    const auto link = static_cast<size_t>(arm_body.link);
    arm_moved = near.p_WArm - X_WL_before[link] * (X_WL[link].inverse() * near.p_WArm);
  }
  const Eigen::Vector3d& a = pose.p_W[static_cast<size_t>(capsule.a)];
  const Eigen::Vector3d& b = pose.p_W[static_cast<size_t>(capsule.b)];
  const double squared = (b - a).squaredNorm();
  const double share = squared > 0 ? std::clamp((near.p_WPerson - a).dot(b - a) / squared, 0.0, 1.0) : 0.0;
  const Eigen::Vector3d a_moved = a - before.p_W[static_cast<size_t>(capsule.a)];
  const Eigen::Vector3d b_moved = b - before.p_W[static_cast<size_t>(capsule.b)];
  const Eigen::Vector3d person_moved = (1 - share) * a_moved + share * b_moved;
  const double side = near.distance_m < 0 ? -1 : 1;  // inside each other the nearest points have changed places
  return -side * (arm_moved - person_moved).dot(apart) / length / dt_s;
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

Take RunTake(const TakeSetup& setup, Policy& policy, const TakeProgress& progress) {
  RequireRates(setup);
  const int ticks_per_control = WholeRatio(setup.physics_hz, setup.control_hz, "control");
  const int ticks_per_frame = WholeRatio(setup.physics_hz, setup.stage.camera.frame_rate_hz, "frame");
  const int thinking_periods = static_cast<int>(std::ceil(setup.decision_latency_s * setup.control_hz - 1e-9));
  const double dt_s = 1 / setup.physics_hz;
  const Stage& stage = setup.stage;

  const Performance performance(setup.lesson, stage.bench, setup.person, setup.seed);
  Take take = PrepareTake(setup, performance);
  Reaction person(performance, setup.person.startle);
  Sensors sensors(setup.sensing, setup.lesson, stage.bench, performance, setup.seed, &person);
  ArmWorld world(stage, setup.lesson.props, stage.arm.home, setup.physics_hz);
  Tracker tracker(stage, stage.arm.home, setup.control_hz);
  policy.BackToOne(stage, setup.seed);
  if (!policy.deployable()) policy.ReadKey(take.intents);

  LensState lens{stage.camera.focal_min_m, 1.0};
  double focal_wish_m = lens.focal_m;
  double focus_wish_m = lens.focus_m;
  std::deque<Move> thinking;
  Shot chosen;
  JointSetPoint set_point;
  BodyPose before = person.PoseAt(0);
  std::vector<Eigen::Isometry3d> X_WL_before = world.X_WL();

  const auto ticks = static_cast<size_t>(std::floor(take.duration_s * setup.physics_hz)) + 1;
  take.ticks.resize(ticks);
  take.frames.reserve(ticks / static_cast<size_t>(ticks_per_frame) + 1);
  for (size_t k = 0; k < ticks; ++k) {
    const double t_s = static_cast<double>(k) / setup.physics_hz;
    const int in_control = static_cast<int>(k % static_cast<size_t>(ticks_per_control));
    if (in_control == 0) {
      if (progress && !progress(static_cast<double>(k) / static_cast<double>(ticks))) throw TakeStopped("the take was stopped");
      if (k > 0) tracker.Advance();
      sensors.Sense(t_s);
      const ArmState arm{world.q(), world.qd(), world.X_WC()};
      const Observation seen{t_s, sensors.person(), sensors.props(), sensors.heard(), arm, lens, stage};
      thinking.push_back(policy.Decide(seen));
      chosen = thinking.back().chosen;
      if (thinking.size() > static_cast<size_t>(thinking_periods)) {
        tracker.Follow(thinking.front());
        focal_wish_m = thinking.front().focal_m;
        focus_wish_m = thinking.front().focus_m;
        thinking.pop_front();
      }
    }
    tracker.At(in_control * dt_s, &set_point);

    const BodyPose pose = person.PoseAt(t_s);
    const std::vector<Eigen::Isometry3d>& X_WL = world.X_WL();
    const Eigen::Isometry3d X_WC = world.X_WC();
    TakeTick& tick = take.ticks[k];
    tick.p_WC = X_WC.translation();
    tick.q_WC = Eigen::Quaterniond(X_WC.linear());
    tick.q = world.q();
    tick.qd = world.qd();
    tick.q_wish = set_point.q;
    tick.torque = world.torque();
    tick.clearance = NearestToPerson(take.arm_bodies, X_WL, take.person, pose);
    tick.approach_mps =
        ApproachSpeed(tick.clearance, take.arm_bodies[static_cast<size_t>(tick.clearance.arm_body)],
                      take.person.capsules[static_cast<size_t>(tick.clearance.capsule)], X_WL, X_WL_before, pose, before, dt_s);
    if (setup.person.startle.lean > 0) {
      const double arm_mps =
          ApproachSpeed(tick.clearance, take.arm_bodies[static_cast<size_t>(tick.clearance.arm_body)],
                        take.person.capsules[static_cast<size_t>(tick.clearance.capsule)], X_WL, X_WL_before, pose, pose, dt_s);
      person.See(t_s, tick.clearance, arm_mps);
    }
    before = pose;
    X_WL_before = X_WL;

    const std::vector<PropPose> carried = performance.PropsAt(t_s);
    if (k % static_cast<size_t>(ticks_per_frame) == 0) {
      TakeFrame frame;
      frame.X_WC = X_WC;
      frame.lens = lens;
      frame.person = pose;
      for (size_t i = 0; i < carried.size(); ++i) {
        frame.X_WP.push_back(world.X_WP(static_cast<int>(i)));
        frame.carrier.push_back(carried[i].carrier);
      }
      frame.X_WL = X_WL;
      frame.chosen = chosen;
      frame.manipulability = Manipulability(CameraJacobian(stage.arm, tick.q));
      frame.unreachable = tracker.unreachable();
      take.frames.push_back(std::move(frame));
    }
    if (k + 1 == ticks) break;
    world.Step(set_point, carried);
    lens = StepLens(stage.camera, lens, focal_wish_m, focus_wish_m, dt_s);
  }
  take.startles = person.startles();
  return take;
}

}  // namespace dryrig
