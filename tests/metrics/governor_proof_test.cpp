#include <fmt/format.h>
#include <gtest/gtest.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "metrics/contact_limits.h"
#include "scenes/catalogue.h"
#include "sim/arm_span.h"
#include "sim/distance.h"
#include "sim/kinematics.h"
#include "sim/rng.h"
#include "sim/run.h"
#include "sim/solid.h"

// What the governor holds, tried against policies that drive at the person, people who leap at the arm, sensors that die or pause
// and policies that stall. The checker works from the truth that the take recorded and shares nothing with the governor.
namespace dryrig {
namespace {

using Eigen::Vector3d;

constexpr double kStands_mps = 0.005;  // a servo at rest moves its arm as fast

constexpr const char* kStillLesson = R"(dryrig: lesson/1
title: Somebody who hardly moves
craft: testing
hard_for: nothing, it is for those who leap at the arm
bench: study-table
person: avery
props:
  - {name: cup, cylinder: {diameter_mm: 60, height_mm: 80}, at_mm: [80, 230], mass_g: 100, colour: [0.5, 0.5, 0.5]}
beats:
  - pause: {for_s: 3}
)";

/// Drives the camera at a part of the person, or throws the joints about; now and then it stalls for 200 ms.
class Ram : public Policy {
 public:
  Ram(uint64_t seed, bool flails) : random_(seed, "ram"), flails_(flails) {}

 private:
  void DoBackToOne(const Stage&, uint64_t) override {}
  Move DoDecide(const Observation& seen) override {
    ++tick_;
    if (last_ && tick_ % 30 >= stall_ && tick_ % 30 < stall_ + 6) return *last_;
    Move move;
    move.focal_m = seen.stage.camera.focal_min_m;
    move.focus_m = 1;
    move.chosen = {{{SubjectKind::kFace, ""}}, ShotSize::kMedium, ShotAngle::kEyeLevel, Composition::kCentre};
    if (flails_ && tick_ % 12 != 1) return *last_;
    if (flails_) {
      Eigen::VectorXd q(seen.stage.arm.dof());
      for (int j = 0; j < q.size(); ++j) {
        const Joint& joint = seen.stage.arm.joints[static_cast<size_t>(j)];
        q[j] = random_.Uniform(joint.lower, joint.upper);
      }
      move.motion = JointTarget{q};
    } else {
      static constexpr std::array kParts{kHeadHigh, kHeadLow, kThorax, kWristL, kWristR, kElbowL};
      const Vector3d goal = seen.person.points[static_cast<size_t>(kParts[part_])].p_W;
      CameraTarget target;
      const Vector3d z = (goal - seen.arm.X_WC.translation()).normalized();
      const Vector3d x = z.cross(Vector3d::UnitZ() + 1e-3 * Vector3d::UnitX()).normalized();
      target.X_WC.linear() << x, z.cross(x), z;
      target.X_WC.translation() = goal + 0.3 * z;  // through it
      move.motion = target;
    }
    last_ = move;
    return move;
  }

  RandomStream random_;
  bool flails_;
  int tick_ = 0, stall_ = static_cast<int>(random_.Uniform(0, 24));
  size_t part_ = static_cast<size_t>(random_.Uniform(0, 6));
  std::optional<Move> last_;
};

struct Cast {
  std::vector<Stage> stages;
  std::vector<PersonSpec> people;
  Sensing good, poor;
  Lesson lesson;
};
Cast MakeCast() {
  Cast cast;
  const auto find = [](SceneKind kind, const char* name) { return FindScene(kind, name); };
  for (const std::string& arm : ListScenes(SceneKind::kArm)) {
    cast.stages.push_back(MakeStage(ReadBench(find(SceneKind::kBench, "study-table")), ReadArm(FindScene(SceneKind::kArm, arm)),
                                    ReadCamera(find(SceneKind::kCamera, "prime"))));
  }
  for (const std::string& person : ListScenes(SceneKind::kPerson)) {
    cast.people.push_back(ReadPerson(FindScene(SceneKind::kPerson, person)));
    cast.people.back().startle = {};
    cast.people.back().fidget = 0;
  }
  cast.good = ReadSensing(find(SceneKind::kSensing, "good"));
  cast.poor = ReadSensing(find(SceneKind::kSensing, "poor"));
  cast.lesson = ParseLesson(kStillLesson, "still.yaml");
  return cast;
}

struct Trial {
  TakeSetup setup;
  bool flails = false;
};
Trial MakeTrial(const Cast& cast, uint64_t seed, bool governed, double late_stop_s = 0) {
  RandomStream random(seed, "adversary");
  Trial trial;
  TakeSetup& setup = trial.setup;
  setup.lesson = cast.lesson;
  setup.stage = cast.stages[static_cast<size_t>(random.Uniform() * static_cast<double>(cast.stages.size()))];
  setup.person = cast.people[static_cast<size_t>(random.Uniform() * static_cast<double>(cast.people.size()))];
  setup.sensing = random.Uniform() < 0.5 ? cast.good : cast.poor;
  setup.seed = seed;
  setup.max_s = 2.5;
  trial.flails = random.Uniform() < 0.3;
  if (random.Uniform() < 0.7) {
    // From the upper body toward where the camera begins, roughly; 5 cm/s are left for what the body does by itself.
    const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
    const Vector3d from = performance.PoseAt(0).p_W[kThorax],
                   camera = setup.stage.bench.X_WB * CameraPose(setup.stage.arm, setup.stage.arm.home).translation();
    Lunge lunge;
    lunge.start_s = random.Uniform(0.1, 1.8);
    lunge.way_W = (camera - from + 0.3 * Vector3d(random.Normal(), random.Normal(), random.Normal())).normalized();
    lunge.speed_mps = GovernorSpec().head_mps - 0.05;
    lunge.travel_m = random.Uniform(0.3, 1.5);
    setup.faults.lunges = {lunge};
  }
  if (!governed) return trial;
  setup.governor.emplace();
  setup.governor->sensor.late_s = late_stop_s;
  if (random.Uniform() < 0.3) {
    setup.governor->sensor.dead_from_s = random.Uniform(0, 2);
    if (random.Uniform() < 0.5) setup.governor->sensor.dead_until_s = setup.governor->sensor.dead_from_s + 0.2;
  }
  return trial;
}

struct Tally {
  int takes = 0, contacts = 0, by_person = 0, broken = 0;
  double least_margin_mps = 1e9;
  std::string worst;
  void Add(const Tally& other) {
    takes += other.takes, contacts += other.contacts, by_person += other.by_person, broken += other.broken;
    if (other.least_margin_mps < least_margin_mps) least_margin_mps = other.least_margin_mps, worst = other.worst;
  }
};

/// Every first touch of a pair: is the arm's own approach, along the normal just before, what the region permits?
Tally Judge(const Trial& trial, const Take& take) {
  const TakeSetup& setup = trial.setup;
  const ArmModel& arm = setup.stage.arm;
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  Tally tally;
  tally.takes = 1;
  std::map<std::pair<size_t, size_t>, Nearest> before;  // of pairs near each other at the tick before
  std::vector<Eigen::Isometry3d> X_WL;
  for (size_t i = 0; i < take.ticks.size(); ++i) {
    const TakeTick& tick = take.ticks[i];
    std::map<std::pair<size_t, size_t>, Nearest> now;
    if (tick.clearance.distance_m < 0.03) {
      const double t_s = static_cast<double>(i) / setup.physics_hz;
      const BodyPose pose = WithLunges(performance.PoseAt(t_s), setup.faults.lunges, t_s);
      LinkPoses(arm, tick.q, &X_WL);
      for (Eigen::Isometry3d& X : X_WL) X = setup.stage.bench.X_WB * X;
      for (size_t b = 0; b < take.arm_bodies.size(); ++b) {
        const ArmBody& body = take.arm_bodies[b];
        if (body.link < 0) continue;
        const Solid part = MakeSolid(body.body.shape, X_WL[static_cast<size_t>(body.link)] * body.body.X_LS);
        for (size_t c = 0; c < take.person.capsules.size(); ++c) {
          const PersonCapsule& capsule = take.person.capsules[c];
          const Nearest near = DistanceOf(part, MakeCapsule(pose.p_W[static_cast<size_t>(capsule.a)],
                                                            pose.p_W[static_cast<size_t>(capsule.b)], capsule.radius_m));
          if (near.distance_m > 0.03) continue;
          now[{b, c}] = near;
          const auto was = before.find({b, c});
          if (near.distance_m > 0 || was == before.end() || was->second.distance_m <= 0) continue;
          const Vector3d n = (was->second.p_WB - was->second.p_WA).normalized();
          const double robot_mps = (PointRowsAt(arm, X_WL, body.link, near.p_WA) * tick.qd).dot(n);
          const ContactRegion& region = FindContactRegion(capsule.region);
          const bool head = capsule.region == "face" || capsule.region == "skull";
          const double permitted =
              head ? kStands_mps
                   : SpeedForForce_mps(region.limit_N(), ReducedMass_kg(region.mass_kg, take.moving_mass_kg, take.payload_kg),
                                       region.stiffness_N_per_m);
          ++tally.contacts;
          tally.by_person += robot_mps <= kStands_mps;
          tally.broken += robot_mps > permitted;
          if (permitted - robot_mps < tally.least_margin_mps) {
            tally.least_margin_mps = permitted - robot_mps;
            tally.worst = fmt::format("seed {}, {} by {}, at {:.3f} s: {} – {} at {:.3f} m/s of {:.3f} m/s", setup.seed, arm.name,
                                      setup.person.name, t_s, body.body.name, capsule.name, robot_mps, permitted);
          }
        }
      }
    }
    before = std::move(now);
  }
  return tally;
}

Tally Try(const Cast& cast, uint64_t first_seed, int takes, bool governed, double late_stop_s = 0) {
  std::vector<Tally> tallies(static_cast<size_t>(takes));
  tbb::parallel_for(size_t{0}, tallies.size(), [&](size_t i) {
    const uint64_t seed = first_seed + i;
    const Trial trial = MakeTrial(cast, seed, governed, late_stop_s);
    Ram ram(seed, trial.flails);
    tallies[i] = Judge(trial, RunTake(trial.setup, ram));
  });
  Tally all;
  for (const Tally& tally : tallies) all.Add(tally);
  return all;
}

void Tell(const char* what, const Tally& tally) {
  fmt::print("{}: {} takes, {} contacts, {} of them by the person alone, {} beyond the limit; worst margin {:.3f} m/s ({})\n",
             what, tally.takes, tally.contacts, tally.by_person, tally.broken, tally.least_margin_mps, tally.worst);
}

TEST(Governor, TheCheckerFindsWhatAnArmWithoutOneDoes) {
  const Tally free = Try(MakeCast(), 1, 60, false);
  Tell("without a governor", free);
  EXPECT_GT(free.broken, 5);
}

// Half a second late it is worth little: the fault shows, and the checker sees it through the safety layer too.
TEST(Governor, TheCheckerFindsWhatALateStopDoes) {
  const Tally late = Try(MakeCast(), 1, 60, true, 0.5);
  Tell("with a governor that stops 0.5 s late", late);
  EXPECT_GT(late.broken, 5);
}

TEST(Governor, NoContactIsBeyondItsLimitInAFewHundredAdversarialTakes) {
  const Tally held = Try(MakeCast(), 1, 200, true);
  Tell("with the governor", held);
  EXPECT_GT(held.contacts, 20) << "the adversary is none";
  EXPECT_EQ(held.broken, 0) << held.worst;
}

// Named in small letters too, so that `ctest -R governor -V` prints it.
TEST(GovernorLong, TenThousandAdversarialTakes_governor) {
  const Tally held = Try(MakeCast(), 1'000, 10'000, true);
  Tell("with the governor", held);
  EXPECT_GT(held.contacts, 10'000);
  EXPECT_EQ(held.broken, 0) << held.worst;
}

}  // namespace
}  // namespace dryrig
