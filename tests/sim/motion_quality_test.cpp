// Every shipped person performs every shipped lesson as a body can: joints in range, no limb through body or bench, hands at what
// they touch, feet on the floor, nothing faster than people are reckoned to be.
#include <gtest/gtest.h>

#include "tests/sim/motion_faults.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Cast;
using testing::Fault;
using testing::Faults;
using testing::FewCasts;
using testing::Motion;
using testing::MotionInspector;
using testing::MotionOf;
using testing::ShippedCasts;

struct Bound {
  const char* check;
  double most;
};
constexpr Bound kBounds[] = {
    {"joint range", 0},
    {"limb in body", 5},         // flesh gives way by as much
    {"hands in each other", 5},  // so do hands
    {"limb in bench", 5},        // the capsules' radii take in the flesh, which gives way against an edge too
    {"hand off what it holds", 15},
    {"hand off what it works on", 15},
    {"seat lost", 5},
    {"feet lifted", 5},
    {"hand too fast", 0},
    {"body too fast", 0},
};

void ExpectSound(const Cast& cast, uint64_t seed, double step_s) {
  const Performance p = cast.Perform(seed);
  const Faults faults = MotionInspector(cast, p, MotionOf(p)).Look(step_s);
  for (const Bound& bound : kBounds) {
    const auto found = faults.find(bound.check);
    if (found == faults.end()) continue;
    const Fault& fault = found->second;
    size_t beat = 0;
    while (beat + 1 < p.beats().size() && p.beats()[beat + 1].start_s <= fault.t_s) ++beat;
    EXPECT_LE(fault.over, bound.most) << cast.Name() << ", seed " << seed << ": " << bound.check << " (" << fault.unit << "), "
                                      << fault.what << " at " << fault.t_s << " s, beat " << beat + 1 << ", "
                                      << p.beats()[beat].label;
  }
}

TEST(MotionQuality, APerformanceOfEveryLessonIsOneThatABodyCanDo) {
  for (const Cast& cast : FewCasts()) ExpectSound(cast, 1, 0.05);
}

TEST(MotionQualityLong, EveryLessonByEveryPersonIsOneThatABodyCanDo) {
  for (const Cast& cast : ShippedCasts()) {
    for (const uint64_t seed : {1, 2, 3}) ExpectSound(cast, seed, 0.02);
  }
}

TEST(LessonLength, TheTrainingLessonsLastTwentyMinutesAtMostAndTwoOfThemMoreThanFour) {
  double together = 0;
  int long_ones = 0;
  for (const std::string& name : ListScenes(SceneKind::kLesson)) {
    const Lesson lesson = ReadLesson(FindScene(SceneKind::kLesson, name));
    if (lesson.set == LessonSet::kTest) continue;
    const Bench bench = ReadBench(FindScene(SceneKind::kBench, lesson.bench));
    double longest = 0;
    for (const std::string& who : ListScenes(SceneKind::kPerson)) {
      const double length = Performance(lesson, bench, ReadPerson(FindScene(SceneKind::kPerson, who)), 1).duration_s();
      longest = std::max(longest, length);
      if (who == lesson.person) long_ones += length > 240;
    }
    together += longest;
  }
  EXPECT_LE(together, 20 * 60);
  EXPECT_GE(long_ones, 2);
}

/// The worst of one check when the motion of a sound performance is spoilt.
double Spoilt(const Cast& cast, const std::string& check, const std::function<void(double, BodyPose*)>& pose,
              const std::function<void(double, std::vector<PropPose>*)>& props = {}) {
  const Performance p = cast.Perform(1);
  Motion motion = MotionOf(p);
  motion.pose = [&](double t) {
    BodyPose body = p.PoseAt(t);
    if (pose) pose(t, &body);
    return body;
  };
  motion.props = [&](double t) {
    std::vector<PropPose> out = p.PropsAt(t);
    if (props) props(t, &out);
    return out;
  };
  return MotionInspector(cast, p, motion).Look(0.1)[check].over;
}

TEST(MotionQuality, ItsChecksRejectBrokenTwins) {
  std::vector<Cast> casts = ShippedCasts();
  const Cast cast =
      *std::find_if(casts.begin(), casts.end(), [](const Cast& c) { return c.person.seated && !c.person.left_handed; });
  const auto move_hand = [](BodyPose* pose, Side side, const Vector3d& by) {
    pose->p_W[static_cast<size_t>(kWristL + static_cast<int>(side))] += by;
    for (int i = 0; i < kHandLandmarks; ++i) pose->p_W[static_cast<size_t>(HandPoint(side, i))] += by;
  };
  EXPECT_GT(Spoilt(cast, "limb in body", [&](double, BodyPose* pose) { move_hand(pose, kRight, {-0.1, -0.25, 0}); }), 5);
  EXPECT_GT(Spoilt(cast, "limb in bench", [&](double, BodyPose* pose) { move_hand(pose, kRight, {0, 0, -0.02}); }), 5);
  EXPECT_GT(Spoilt(cast, "hand off what it holds", [&](double, BodyPose* pose) { move_hand(pose, kRight, {0, 0, 0.05}); }), 15);
  EXPECT_GT(Spoilt(cast, "hand too fast",
                   [&](double t, BodyPose* pose) {
                     move_hand(pose, kLeft, {0.1 * std::sin(25 * t), 0, 0});
                   }),
            0);
  EXPECT_GT(Spoilt(cast, "joint range",
                   [&](double, BodyPose* pose) { pose->q_WHd = pose->q_WT * Eigen::AngleAxisd(1.1, Vector3d::UnitZ()); }),
            0);
  EXPECT_GT(Spoilt(cast, "hands in each other",
                   [&](double, BodyPose* pose) {
                     const Vector3d apart = pose->p_W[HandPoint(kLeft, 9)] - pose->p_W[HandPoint(kRight, 9)];
                     move_hand(pose, kRight, apart);
                   }),
            5);
  EXPECT_GT(Spoilt(cast, "feet lifted", [&](double t, BodyPose* pose) { pose->p_W[kToeL].z() += t > 3 ? 0.01 : 0; }), 5);
  EXPECT_GT(Spoilt(cast, "seat lost", [&](double, BodyPose* pose) { pose->p_W[kPelvis].z() += 0.01; }), 5);
  EXPECT_GT(Spoilt(cast, "body too fast", [&](double t, BodyPose* pose) { pose->p_W[kPelvis].x() += 2 * t; }), 0);
  EXPECT_GT(Spoilt(cast, "hand off what it works on", {},
                   [](double, std::vector<PropPose>* props) {
                     for (PropPose& prop : *props) {
                       if (prop.carrier >= 0) prop.X_WP.translation().z() += 0.03;
                     }
                   }),
            15);
}

}  // namespace
}  // namespace dryrig
