#include "metrics/clearance_study.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "metrics/worst_separation.h"
#include "sim/distance.h"
#include "tests/metrics/shipped_takes.h"

namespace dryrig {
namespace {

using Eigen::Isometry3d;
using Eigen::Vector3d;

/// Some seconds of a shipped lesson by a policy, and its study.
struct Filmed {
  explicit Filmed(const std::string& policy, double max_s = 4, const std::string& lesson = "booklet")
      : setup(testing::ShippedSetup(lesson, "heron", "prime")) {
    setup.max_s = max_s;
    take = testing::RunShipped(setup, policy);
    performance = std::make_unique<Performance>(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  }
  TakeMotion Motion() const { return TakeMotion(take, setup.stage.arm, *performance); }
  TakeSetup setup;
  Take take;
  std::unique_ptr<Performance> performance;
};

Profile Shipped(const std::string& name) {
  return ReadProfile(FindScene(SceneKind::kProfile, name));
}
const RuleResult& Of(const ClearanceStudy& study, ClearanceRule rule) {
  return study.rules[static_cast<size_t>(rule)];
}

TEST(ClearanceStudy, WorstSeparationIsNoBetterThanAnyPairsAtAnyTick) {
  const Filmed filmed("planner", 3);
  const TakeMotion motion = filmed.Motion();
  for (const char* name : {"separation", "contact-limited"}) {
    const Profile profile = Shipped(name);
    const PairExaminer examiner(motion, profile);
    const bool head = profile.measured;
    const auto worst = WorstSeparation(motion, examiner, head, profile.measured);
    ASSERT_TRUE(worst);
    const auto margin = [&](const PairMoment& at) {
      return at.distance_m - (profile.measured ? at.measured : at.constant).total_m();
    };
    double least = 10;
    TakeInstant now;
    for (size_t tick = 0; tick < filmed.take.ticks.size(); tick += 16) {
      motion.At(tick, &now);
      for (int part = 0; part < motion.parts(); ++part) {
        for (int c = 0; c < static_cast<int>(now.limbs.size()); ++c) {
          if (head && examiner.RegionOf(c).transient_factor > 1) continue;
          least = std::min(least, margin(examiner.Examine(now, part, c)));
        }
      }
    }
    EXPECT_LE(margin(*worst), least + 1e-12) << name;
    EXPECT_GT(margin(*worst), least - 0.1) << name << ": ticks between those looked at are not that much worse";
  }
}

TEST(ClearanceStudy, SeparationOfASlowArmIsMostlyThePersons) {
  const Filmed filmed("tripod", 2);
  const ClearanceStudy study = StudyClearance(filmed.Motion(), Shipped("separation"));
  const RuleResult& rule = Of(study, ClearanceRule::kSeparation);
  ASSERT_TRUE(rule.moment);
  const SeparationTerms& terms = rule.moment->constant;
  // At rest: 1.6 m/s for 0.1 s and the servo's 8 ms, and 0.35 m of constants. A tripod's arm only sags and holds.
  EXPECT_GE(terms.human_m, 1.6 * 0.1);
  EXPECT_NEAR(terms.intrusion_m + terms.person_error_m + terms.robot_error_m, 0.35, 1e-12);
  EXPECT_NEAR(rule.limit, terms.total_m(), 1e-12);
  EXPECT_NEAR(*rule.margin, rule.moment->distance_m - terms.total_m(), 1e-12);
}

TEST(ClearanceStudy, ContactMarginIsTheLeastOverTicksInWhichTheArmComes) {
  const Filmed filmed("follow", 5);
  const TakeMotion motion = filmed.Motion();
  Profile profile = Shipped("contact-limited");
  profile.watch.value = 1.0;
  const ClearanceStudy study = StudyClearance(motion, profile);
  const RuleResult& rule = Of(study, ClearanceRule::kContact);
  ASSERT_TRUE(rule.margin);
  const PairExaminer examiner(motion, profile);
  double least = 1e9;
  TakeInstant now;
  for (size_t tick = 0; tick < filmed.take.ticks.size(); ++tick) {
    motion.At(tick, &now);
    for (int part = 0; part < motion.parts(); ++part) {
      for (int c = 0; c < static_cast<int>(now.limbs.size()); ++c) {
        const Nearest near = DistanceOf(now.parts[static_cast<size_t>(part)], now.limbs[static_cast<size_t>(c)]);
        if (near.distance_m >= profile.watch.value || examiner.RegionOf(c).transient_factor == 1) continue;
        const auto approach = examiner.ApproachOf(now, part, c, near);
        if (approach.robot_mps <= 0.005) continue;
        double reflected = 0, reduced = 0;
        least = std::min(least, examiner.Permissible_mps(now, part, c, near, approach.n_W, &reflected, &reduced) -
                                    approach.robot_mps - approach.person_mps);
      }
    }
  }
  EXPECT_NEAR(*rule.margin, least, 1e-12);
  EXPECT_NEAR(rule.limit - rule.value, *rule.margin, 1e-12);
}

// Region `hand` at 1 N: nothing that moves near a hand is slow enough.
TEST(ClearanceStudy, AStricterRegionBreaksTheRuleAndTheVerdict) {
  const Filmed filmed("follow", 5);
  const TakeMotion motion = filmed.Motion();
  Profile profile = Shipped("contact-limited");
  profile.watch.value = 1.0;
  for (const char* region : {"hand", "lower arm", "chest", "upper arm"}) profile.regions[region] = {1, 0};
  const ClearanceStudy study = StudyClearance(motion, profile);
  EXPECT_TRUE(Of(study, ClearanceRule::kContact).broken());
  EXPECT_FALSE(study.allowed());
  profile.enforced = {ClearanceRule::kClamping};
  const ClearanceStudy told = StudyClearance(motion, profile);
  EXPECT_TRUE(Of(told, ClearanceRule::kContact).broken()) << "told all the same";
  EXPECT_EQ(told.allowed(), !Of(told, ClearanceRule::kClamping).broken() && !told.strikes(GapKind::kStill));
}

/// A solid on the last link, `gap_m` over the crown at the first instant.
void PlantOverHead(double gap_m, Filmed* filmed) {
  TakeInstant now;
  filmed->Motion().At(0, &now);
  size_t head = 0;
  while (filmed->take.person.capsules[head].name != "head") ++head;
  const Solid limb = now.limbs[head];
  const double radius_m = 0.03;
  const Vector3d at = (limb.a_W.z() > limb.b_W.z() ? limb.a_W : limb.b_W) + Vector3d(0, 0, limb.radius_m + gap_m + radius_m);
  filmed->take.arm_bodies.push_back(
      {static_cast<int>(now.X_WL.size()) - 1,
       {"planted", Shape::Sphere(radius_m), now.X_WL.back().inverse() * Isometry3d(Eigen::Translation3d(at))}});
}

TEST(ClearanceStudy, HeadAcceptsNoContact) {
  Filmed clear("tripod", 0.05), touched("tripod", 0.05);
  PlantOverHead(0.25, &clear);
  PlantOverHead(-0.002, &touched);
  const Profile profile = Shipped("contact-limited");
  const ClearanceStudy far = StudyClearance(clear.Motion(), profile), near = StudyClearance(touched.Motion(), profile);
  EXPECT_FALSE(Of(far, ClearanceRule::kHead).broken());
  EXPECT_TRUE(Of(near, ClearanceRule::kHead).broken());
  EXPECT_FALSE(near.allowed());
  EXPECT_THAT(Of(near, ClearanceRule::kHead).what, ::testing::HasSubstr("planted"));
  EXPECT_EQ(far.touches, 0);
  EXPECT_GT(near.touches, 0);
  EXPECT_EQ(near.touches_by_person, near.touches) << "the arm stands";
  for (const PairWorst& pair : near.pairs) {
    if (PairText(touched.take, pair.moment) == "head – planted") {
      EXPECT_NEAR(pair.least_m, -0.002, 1e-4);
      EXPECT_TRUE(pair.moment.no_contact);
      EXPECT_EQ(pair.moment.permissible_mps, 0);
    }
  }
}

// A hand on the bench, a ball 60 mm over it that comes down: pressed against the bench, by the quasi-static force, without the
// hand giving way.
TEST(ClearanceStudy, AHandBetweenArmAndBenchIsClamped) {
  Filmed filmed("tripod", 0.2);
  const TakeMotion before = filmed.Motion();
  const Profile profile = Shipped("contact-limited");
  TakeInstant now;
  constexpr size_t tick = 20;
  before.At(tick, &now);
  size_t hand = 0;
  double lowest = 10;
  for (size_t c = 0; c < now.limbs.size(); ++c) {
    const double z = now.limbs[c].a_W.z() - now.limbs[c].radius_m;
    if (filmed.take.person.capsules[c].region == "hand" && z < lowest) lowest = z, hand = c;
  }
  const double top_m = filmed.take.bench_top.X_LS.translation().z() + filmed.take.bench_top.shape.half_m.z();
  ASSERT_LT(lowest - top_m, 0.09) << "a hand is at the bench";
  const double radius_m = 0.02;
  const Vector3d at(now.limbs[hand].a_W.x(), now.limbs[hand].a_W.y(), top_m + 0.075 + radius_m);
  filmed.take.arm_bodies.push_back(
      {static_cast<int>(now.X_WL.size()) - 1,
       {"planted", Shape::Sphere(radius_m), now.X_WL.back().inverse() * Isometry3d(Eigen::Translation3d(at))}});
  // Joint rates that bring it down at 0.1 m/s.
  const PointRows J = before.PointRowsAt(now.X_WL, before.parts() - 1, at);
  const Eigen::VectorXd up = J.row(2).transpose();
  filmed.take.ticks[tick].qd = -0.1 / up.squaredNorm() * up;
  const TakeMotion motion = filmed.Motion();
  motion.At(tick, &now);
  const PairMoment moment = PairExaminer(motion, profile).Examine(now, motion.parts() - 1, static_cast<int>(hand));
  ASSERT_TRUE(moment.clamping);
  EXPECT_EQ(moment.clamping->against, "bench");
  EXPECT_NEAR(moment.clamping->gap_m, 0.075, 1e-6);
  EXPECT_EQ(moment.clamping->limit_N, 140);
  EXPECT_NEAR(moment.clamping->permissible_mps, 140 / std::sqrt(75e3 * moment.reflected_kg), 1e-12);
  EXPECT_LE(moment.clamping->press_N, 100) << "the profile's press limit";
  EXPECT_TRUE(Of(StudyClearance(motion, profile), ClearanceRule::kClamping).margin);
}

TEST(ClearanceStudy, ReducedSpeedKnowsTheFastestPoint) {
  const Filmed filmed("follow", 4);
  const TakeMotion motion = filmed.Motion();
  const ClearanceStudy study = StudyClearance(motion, Shipped("reduced-speed"));
  const RuleResult& rule = Of(study, ClearanceRule::kSpeed);
  double camera_mps = 0;
  for (size_t i = 1; i < filmed.take.ticks.size(); ++i)
    camera_mps =
        std::max(camera_mps, (filmed.take.ticks[i].p_WC - filmed.take.ticks[i - 1].p_WC).norm() * filmed.take.id.physics_hz);
  EXPECT_GT(rule.value, 0.9 * camera_mps) << "never too little, but for the lens before the housing";
  EXPECT_LT(rule.value, 3 * camera_mps + 0.02);
}

TEST(SolidGaps, FindWhatBruteForceFinds) {
  const Filmed filmed("planner", 3);
  const TakeMotion motion = filmed.Motion();
  const std::vector<SolidGap> gaps = SolidGaps(motion);
  const auto find = [&](const std::string& a, const std::string& b) {
    return *std::find_if(gaps.begin(), gaps.end(), [&](const SolidGap& gap) { return gap.a == a && gap.b == b; });
  };
  const Solid bench = MakeSolid(filmed.take.bench_top.shape, filmed.take.bench_top.X_LS);
  double brute_m = 10;
  TakeInstant now;
  for (size_t tick = 0; tick < filmed.take.ticks.size(); ++tick) {
    motion.PartsAt(filmed.take.ticks[tick].q, &now.X_WL, &now.parts);
    brute_m = std::min(brute_m, DistanceOf(now.parts.back(), bench).distance_m);
  }
  const SolidGap camera = find("camera", "bench");
  EXPECT_NEAR(camera.least_m, brute_m, std::max(5e-4, 0.05 * camera.least_m) + 1e-9) << "as near as is promised";
  EXPECT_GE(camera.least_m, brute_m - 1e-12);
  EXPECT_LE(camera.bound_m, brute_m);
  EXPECT_GT(camera.bound_m, brute_m - 0.06 * brute_m - 0.01);
}

TEST(SolidGaps, AZoneThatTheArmStandsInIsAStrike) {
  Filmed filmed("tripod", 0.2);
  EXPECT_FALSE(StudyClearance(filmed.Motion(), Shipped("contact-limited")).strikes(GapKind::kZone));
  filmed.take.keep_out.push_back(
      {"zone-planted", Shape::Sphere(0.1), Isometry3d(Eigen::Translation3d(filmed.take.ticks[0].p_WC))});
  const ClearanceStudy study = StudyClearance(filmed.Motion(), Shipped("contact-limited"));
  EXPECT_TRUE(study.strikes(GapKind::kZone));
  EXPECT_FALSE(study.allowed());
  EXPECT_EQ(study.gaps.front().b, "zone-planted");
}

}  // namespace
}  // namespace dryrig
