#include "sim/near_pairs.h"

#include <gtest/gtest.h>

#include <map>

#include "policies/table.h"
#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "sim/arm_span.h"
#include "sim/kinematics.h"
#include "sim/rng.h"
#include "sim/run.h"
#include "tests/sim/random_solids.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

/// The first seconds of a shipped lesson, filmed.
struct Filmed {
  explicit Filmed(const std::string& policy, double max_s = 2) {
    setup.lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
    setup.stage = MakeStage(ReadBench(FindScene(SceneKind::kBench, setup.lesson.bench)),
                            ReadArm(FindScene(SceneKind::kArm, "reed")), ReadCamera(FindScene(SceneKind::kCamera, "prime")));
    setup.person = ReadPerson(FindScene(SceneKind::kPerson, "avery"));
    setup.sensing = ReadSensing(FindScene(SceneKind::kSensing, "good"));
    setup.max_s = max_s;
    take = RunTake(setup, *FindPolicy(policy).make({}));
  }
  Performance Perform() const { return Performance(setup.lesson, setup.stage.bench, setup.person, setup.seed); }
  TakeSetup setup;
  Take take;
};

using Least = std::map<std::pair<int, int>, double>;

Least ByVisits(const TakeMotion& motion, double watch_m, Least* bounds = nullptr) {
  Least out;
  VisitNearPairs(motion, watch_m, [&](const TakeInstant&, std::span<const NearPair> pairs) {
    for (const NearPair& pair : pairs) {
      const auto put = [&](Least* into, double value) {
        const auto [at, fresh] = into->try_emplace({pair.part, pair.capsule}, value);
        if (!fresh) at->second = std::min(at->second, value);
      };
      put(&out, pair.near.distance_m);
      if (bounds != nullptr) put(bounds, pair.bound_m);
    }
  });
  return out;
}

/// Every pair at every tick.
Least ByBruteForce(const TakeMotion& motion, double watch_m) {
  Least out;
  TakeInstant now;
  for (size_t tick = 0; tick < motion.take().ticks.size(); ++tick) {
    motion.At(tick, &now);
    for (int part = 0; part < motion.parts(); ++part) {
      for (int c = 0; c < static_cast<int>(now.limbs.size()); ++c) {
        const double d = DistanceOf(now.parts[static_cast<size_t>(part)], now.limbs[static_cast<size_t>(c)]).distance_m;
        if (d >= watch_m) continue;
        const auto [at, fresh] = out.try_emplace({part, c}, d);
        if (!fresh) at->second = std::min(at->second, d);
      }
    }
  }
  return out;
}

TEST(NearPairs, PassesOverNoPairThatIsNear) {
  for (const char* policy : {"planner", "topdown"}) {
    const Filmed filmed(policy);
    const Performance performance = filmed.Perform();
    const TakeMotion motion(filmed.take, filmed.setup.stage.arm, performance);
    const double watch_m = 1.0;
    const Least brute = ByBruteForce(motion, watch_m);
    EXPECT_GT(brute.size(), 50u) << policy;
    EXPECT_EQ(ByVisits(motion, watch_m), brute) << policy << ": to the last bit";
    EXPECT_NE(ByVisits(motion, watch_m - 0.05), brute) << "the comparison sees what is left out";
  }
}

TEST(NearPairs, NearestOfAllIsTheTakesOwn) {
  const Filmed filmed("follow");
  const Performance performance = filmed.Perform();
  const TakeMotion motion(filmed.take, filmed.setup.stage.arm, performance);
  double least = 10, recorded = 10;
  for (const auto& [pair, d] : ByVisits(motion, 2)) least = std::min(least, d);
  for (const TakeTick& tick : filmed.take.ticks) recorded = std::min(recorded, tick.clearance.distance_m);
  EXPECT_NEAR(least, recorded, 1e-9);  // link poses by two ways of turning; rounding is 1e-15
}

/// Puts a solid on the arm's last link, `gap_m` before the person's head at the take's first instant.
void Plant(const Shape& shape, double gap_m, const TakeMotion& motion, Take* take) {
  TakeInstant now;
  motion.At(0, &now);
  const PersonBody& person = take->person;
  size_t head = 0;
  while (person.capsules[head].name != "head") ++head;
  const Solid limb = now.limbs[head];
  // Above the crown: its top and the solid's lowest point lie on one vertical.
  const Vector3d crown = (limb.a_W.z() > limb.b_W.z() ? limb.a_W : limb.b_W) + Vector3d(0, 0, limb.radius_m);
  const Isometry3d X_WS(Eigen::Translation3d(crown + Vector3d(0, 0, gap_m + shape.Below())));
  const int link = static_cast<int>(now.X_WL.size()) - 1;
  take->arm_bodies.push_back({link, {"planted", shape, now.X_WL.back().inverse() * X_WS}});
}

// A gap of 5 mm reads 5 mm and a touch reads 0, with no margin in either: to a micron, which is GJK's end, far inside 0.1 mm.
TEST(NearPairs, PlantedGapsReadAsPlanted) {
  const Filmed filmed("tripod", 0.05);
  const Performance performance = filmed.Perform();
  const std::vector<Shape> shapes{Shape::Sphere(0.03), Shape::Capsule(0.02, 0.05), Shape::Cylinder(0.04, 0.03),
                                  Shape::Box({0.05, 0.04, 0.03}),
                                  Shape::Hull({{-0.05, -0.05, -0.02}, {0.05, -0.05, -0.02}, {0, 0.05, -0.02}, {0, 0, 0.06}})};
  for (const double gap_m : {0.0, 0.005, 0.080}) {
    for (const Shape& shape : shapes) {
      Take take = filmed.take;
      Plant(shape, gap_m, TakeMotion(filmed.take, filmed.setup.stage.arm, performance), &take);
      const TakeMotion motion(take, filmed.setup.stage.arm, performance);
      double read_m = 10;
      VisitNearPairs(motion, 0.5, [&](const TakeInstant& now, std::span<const NearPair> pairs) {
        for (const NearPair& pair : pairs) {
          if (now.tick == 0 && pair.part == motion.parts() - 1 &&
              take.person.capsules[static_cast<size_t>(pair.capsule)].name == "head")
            read_m = pair.near.distance_m;
        }
      });
      EXPECT_NEAR(read_m, gap_m, 1e-6) << static_cast<int>(shape.kind);
    }
  }
}

// Between two ticks: joints go evenly, the person by the performance itself.
TEST(NearPairs, BoundsHoldBetweenTicks) {
  const Filmed filmed("planner", 3);
  const Performance performance = filmed.Perform();
  const TakeMotion motion(filmed.take, filmed.setup.stage.arm, performance);
  Least bounds;
  const Least least = ByVisits(motion, 0.9, &bounds);
  EXPECT_FALSE(least.empty());
  std::vector<Isometry3d> X_WL;
  std::vector<Solid> parts;
  double tightest = 10;
  for (size_t tick = 0; tick + 1 < filmed.take.ticks.size(); ++tick) {
    for (const double share : {0.25, 0.5, 0.75}) {
      const JointVector q = (1 - share) * filmed.take.ticks[tick].q + share * filmed.take.ticks[tick + 1].q;
      const BodyPose pose = performance.PoseAt((static_cast<double>(tick) + share) / filmed.take.id.physics_hz);
      motion.PartsAt(q, &X_WL, &parts);
      for (const auto& [pair, bound_m] : bounds) {
        const PersonCapsule& limb = filmed.take.person.capsules[static_cast<size_t>(pair.second)];
        const Solid capsule =
            MakeCapsule(pose.p_W[static_cast<size_t>(limb.a)], pose.p_W[static_cast<size_t>(limb.b)], limb.radius_m);
        const double d = DistanceOf(parts[static_cast<size_t>(pair.first)], capsule).distance_m;
        tightest = std::min(tightest, d - bound_m);
      }
    }
  }
  EXPECT_GE(tightest, 0);
  EXPECT_LT(tightest, 0.01) << "and they are not idle";
}

// What the bounds rest on: points of shipped people at half of kMostPersonAcceleration_mps2 at most. Second differences over 1
// ms.
TEST(NearPairs, PeopleAccelerateLessThanTheBoundsTake) {
  double most = 0;
  for (const testing::Cast& cast : testing::FewCasts()) {
    const Performance performance = cast.Perform(3);
    constexpr double kStep_s = 0.001;
    for (double t_s = 0.05; t_s < std::min(40.0, performance.duration_s()); t_s += 0.02) {
      const BodyPose a = performance.PoseAt(t_s - kStep_s), b = performance.PoseAt(t_s), c = performance.PoseAt(t_s + kStep_s);
      for (size_t i = 0; i < a.p_W.size(); ++i)
        most = std::max(most, (a.p_W[i] - 2 * b.p_W[i] + c.p_W[i]).norm() / (kStep_s * kStep_s));
    }
  }
  EXPECT_GT(most, 1);
  EXPECT_LT(most, 0.5 * kMostPersonAcceleration_mps2);
}

TEST(NearPairs, AnotherPerformanceOrArmIsRefused) {
  const Filmed filmed("tripod", 0.5);
  TakeSetup other = filmed.setup;
  other.seed = 2;
  const Performance performance(other.lesson, other.stage.bench, other.person, other.seed);
  EXPECT_THROW(TakeMotion(filmed.take, filmed.setup.stage.arm, performance), RunError);
  const Performance right = filmed.Perform();
  EXPECT_THROW(
      TakeMotion(filmed.take, WithCamera(ReadArm(FindScene(SceneKind::kArm, "heron")), filmed.setup.stage.camera), right),
      RunError);
}

// No point of a body goes farther than its span allows: 2,000 random moves of both arms.
TEST(ArmSpan, NoPointGoesFarther) {
  for (const char* name : {"reed", "heron"}) {
    const ArmModel arm =
        WithCamera(ReadArm(FindScene(SceneKind::kArm, name)), ReadCamera(FindScene(SceneKind::kCamera, "prime")));
    RandomStream random(3, name);
    std::vector<Isometry3d> from, to;
    double used = 0;
    for (int trial = 0; trial < 1000; ++trial) {
      Eigen::VectorXd q(arm.dof()), move(arm.dof());
      for (int j = 0; j < arm.dof(); ++j) {
        q[j] = random.Uniform(arm.joints[static_cast<size_t>(j)].lower, arm.joints[static_cast<size_t>(j)].upper);
        move[j] = random.Uniform(-0.2, 0.2);
      }
      LinkPoses(arm, q, &from);
      LinkPoses(arm, q + move, &to);
      for (const ArmBody& body : ArmBodies(arm)) {
        if (body.link < 0) continue;
        const auto link = static_cast<size_t>(body.link);
        const Vector3d way(random.Uniform(-1, 1), random.Uniform(-1, 1), random.Uniform(-1, 1));
        const Vector3d p = body.body.X_LS * (way.normalized() * body.body.shape.BoundingRadius());
        const double most = MostMoved_m(SpanOf(arm, body), move.cwiseAbs());
        const double moved = (to[link] * p - from[link] * p).norm();
        EXPECT_LE(moved, most + 1e-12);
        used = std::max(used, moved / most);
      }
    }
    EXPECT_GT(used, 0.5) << "the bound is not idle";
  }
}

}  // namespace
}  // namespace dryrig
