// A person built from stature alone against people who were measured.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "tests/outside/listed.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;

/// ANSUR II (2012; Gordon et al., NATICK/TR-15/007), computed from the open tables of 1986 women and 4082 men; millimetres.
struct Measured {
  const char* whom;
  double stature, acromial_height, sitting_height, upper_arm, forearm, hand;  // means
  double sd_acromial_height, sd_sitting_height, sd_upper_arm, sd_forearm, sd_hand;
};
constexpr Measured kAnsur[] = {{"women", 1628.47, 1335.10, 856.63, 311.20, 241.33, 181.08, 58.08, 33.05, 17.16, 15.24, 10.06},
                               {"men", 1756.21, 1440.74, 918.29, 335.24, 267.88, 193.28, 63.29, 35.70, 17.48, 15.42, 9.95}};

PersonSpec OfStature(double stature_m) {
  PersonSpec person;
  person.stature_m = stature_m;
  person.mass_kg = 23 * stature_m * stature_m;
  return WithRatios(person);
}

// Shares of stature, Drillis & Contini 1966 as in Winter 2009, fig. 4.1 (from a public copy); exact but for rounding.
TEST(AnthropometryOutside, SegmentsAreThePublishedSharesOfStature) {
  const PersonSpec p = OfStature(1);
  EXPECT_NEAR(p.eye_height_m, 0.936, 1e-12);
  EXPECT_NEAR(p.shoulder_height_m, 0.818, 1e-12);
  EXPECT_NEAR(p.hip_height_m, 0.530, 1e-12);
  EXPECT_NEAR(p.knee_height_m, 0.285, 1e-12);
  EXPECT_NEAR(p.upper_arm_m, 0.186, 1e-12);
  EXPECT_NEAR(p.forearm_m, 0.146, 1e-12);
  EXPECT_NEAR(p.hand_m, 0.108, 1e-12);
  EXPECT_NEAR(p.head_height_m, 0.130, 1e-12);
  EXPECT_NEAR(p.hip_half_breadth_m, 0.191 / 2, 1e-12);
}

// One standard deviation of the people measured is the tolerance: the build of stature alone is one of the middle two thirds.
TEST(AnthropometryOutside, APersonOfMeanStatureIsBuiltLikeTheMiddleTwoThirds) {
  for (const Measured& m : kAnsur) {
    SCOPED_TRACE(m.whom);
    const PersonSpec p = OfStature(m.stature / 1000);
    EXPECT_NEAR(p.shoulder_height_m * 1000, m.acromial_height, m.sd_acromial_height);
    EXPECT_NEAR(p.upper_arm_m * 1000, m.upper_arm, m.sd_upper_arm);
    EXPECT_NEAR(p.forearm_m * 1000, m.forearm, m.sd_forearm);
    EXPECT_NEAR(p.hand_m * 1000, m.hand, m.sd_hand);
  }
}

// The person as it moves, not as it is specified: the bones between points, and the crown over the seat.
TEST(AnthropometryOutside, APerformingPersonHasTheMeasuredLengths) {
  for (const Measured& m : kAnsur) {
    SCOPED_TRACE(m.whom);
    PersonSpec person = OfStature(m.stature / 1000);
    person.seated = true;
    const Performance p(testing::PlainLesson({testing::MakeBeat(BeatKind::kAddress, "", 4)}), testing::PlainBench(), person, 1);
    const BodyPose pose = p.PoseAt(3);
    EXPECT_NEAR((pose.p_W[kShoulderR] - pose.p_W[kElbowR]).norm() * 1000, m.upper_arm, m.sd_upper_arm);
    EXPECT_NEAR((pose.p_W[kElbowR] - pose.p_W[kWristR]).norm() * 1000, m.forearm, m.sd_forearm);
    EXPECT_NEAR((pose.p_W[kShoulderR] - pose.p_W[kShoulderL]).norm() / person.stature_m, 0.259, 0.026)
        << "Winter's shoulder breadth, a tenth for the shoulder that follows the hand";
    double crown = 0, seat = 10;
    for (const PersonCapsule& capsule : p.body().capsules) {
      if (capsule.name == "head") crown = pose.p_W[static_cast<size_t>(capsule.b)].z() + capsule.radius_m;
      if (capsule.name == "pelvis") seat = pose.p_W[static_cast<size_t>(capsule.a)].z() - capsule.radius_m;
    }
    // A sitting height is taken stretched up; who works leans and slumps: two standard deviations lower at most.
    EXPECT_LT((crown - seat) * 1000, m.sitting_height + m.sd_sitting_height);
    EXPECT_GT((crown - seat) * 1000, m.sitting_height - 2 * m.sd_sitting_height);
  }
}

// Percentiles from the same open tables (NumPy's linear interpolation). The files give whole millimetres.
TEST(AnthropometryOutside, ShippedPeopleHaveTheMeasuredPercentiles) {
  const struct {
    const char* who;
    double stature, acromial_height, upper_arm, forearm, hand, biacromial_breadth;
  } kRows[] = {{"avery", 1525, 1242, 283.25, 218, 165, 335},   // women, 5th
               {"brook", 1626, 1332, 311, 240.5, 180, 365},    // women, 50th
               {"finley", 1740, 1433.75, 340, 268, 199, 396},  // women, 95th
               {"gale", 1648, 1339, 307, 244, 177, 384},       // men, 5th
               {"devon", 1755, 1439, 335, 267, 193, 415},      // men, 50th
               {"ellis", 1870, 1546, 365, 295, 210, 447}};     // men, 95th
  for (const auto& row : kRows) {
    SCOPED_TRACE(row.who);
    const PersonSpec p = ReadPerson(FindScene(SceneKind::kPerson, row.who));
    EXPECT_NEAR(p.stature_m * 1000, row.stature, 0.51);
    EXPECT_NEAR(p.shoulder_height_m * 1000, row.acromial_height, 0.51);
    EXPECT_NEAR(p.upper_arm_m * 1000, row.upper_arm, 0.51);
    EXPECT_NEAR(p.forearm_m * 1000, row.forearm, 0.51);
    EXPECT_NEAR(p.hand_m * 1000, row.hand, 0.51);
    EXPECT_NEAR(p.shoulder_half_breadth_m * 2000, row.biacromial_breadth, 1.01);  // halves of whole millimetres
  }
}

}  // namespace
}  // namespace dryrig
