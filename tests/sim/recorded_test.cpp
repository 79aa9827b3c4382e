#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "scenes/catalogue.h"
#include "scenes/recorded_lesson.h"
#include "sim/performance.h"
#include "sim/run.h"
#include "sim/skeleton.h"
#include "sim/spline_track.h"
#include "tests/scenes/bvh_files.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Contains;
using testing::HasSubstr;

constexpr const char* kHead = R"(dryrig: lesson/1
title: Folding
craft: bookbinding
hard_for: nothing
bench: workshop-bench
props:
  - {name: awl, box: {size_mm: [120, 20, 18]}, at_mm: [200, 240], yaw_deg: 30, mass_g: 40}
)";
constexpr const char* kCaptions = "WEBVTT\n\n00:01.000 --> 00:02.000\nFold it.\n\n00:04.500 --> 00:08.000\nPress hard.\n";

Lesson FigureLesson(const std::string& recorded, const std::string& rest = "", BvhStyle style = {}) {
  if (style.frames == 60) style.frames = 301;  // 5 s
  const std::string motion = WriteBvh(style);
  return ParseLesson(
      kHead + ("recorded: {motion: fold.bvh, captions: fold.vtt" + recorded + "}\n") + rest, "fold.yaml",
      [&](const std::string& kind, const std::string&) { return kind == "motion" ? motion : std::string(kCaptions); });
}
const Bench& Workshop() {
  static const Bench bench = ReadBench(FindScene(SceneKind::kBench, "workshop-bench"));
  return bench;
}
PersonSpec Devon() {
  return ReadPerson(FindScene(SceneKind::kPerson, "devon"));
}
Performance Perform(const Lesson& lesson) {
  return Performance(lesson, Workshop(), Devon(), 1);
}
const Vector3d& At(const BodyPose& pose, int point) {
  return pose.p_W[static_cast<size_t>(point)];
}

TEST(SplineTrack, GoesThroughItsSamplesAndIsExactOnStraightLines) {
  std::vector<double> samples;
  for (int i = 0; i < 50; ++i) samples.insert(samples.end(), {std::sin(0.3 * i), 2.0 * i - 7});
  const SplineTrack track(samples, 2);
  double v[2];
  for (int i = 0; i < 50; ++i) {
    track.At(i, v);
    EXPECT_NEAR(v[0], std::sin(0.3 * i), 1e-14);
    EXPECT_NEAR(v[1], 2.0 * i - 7, 1e-12);
  }
  for (const double u : {0.25, 1.5, 24.9, 48.6}) {
    track.At(u, v);
    EXPECT_NEAR(v[1], 2 * u - 7, 1e-12);
  }
  track.At(24.5, v);
  EXPECT_NEAR(v[0], std::sin(0.3 * 24.5), 3e-5);  // 5/384 h⁴: a cubic spline's error bound is 1.1e-4
  track.At(-3, v);
  EXPECT_EQ(v[1], -7);
  track.At(1000, v);
  EXPECT_NEAR(v[1], 91, 1e-12);
}

TEST(SplineTrack, TwoAndThreeSamplesAreEnough) {
  double v = 0;
  SplineTrack({1, 3}, 1).At(0.5, &v);
  EXPECT_NEAR(v, 2, 1e-15);
  const SplineTrack three({0, 1, 0}, 1);
  three.At(1, &v);
  EXPECT_NEAR(v, 1, 1e-15);
  three.At(0.5, &v);
  EXPECT_NEAR(v, 11.0 / 16, 1e-15);  // natural spline: second derivative -3 in the middle
}

TEST(Recorded, StandsOnTheFloorAtTheBenchAndFacesIt) {
  const Performance p = Perform(FigureLesson(""));
  EXPECT_NEAR(p.duration_s(), 5, 1e-6);
  Vector3d hips = Vector3d::Zero(), ahead = Vector3d::Zero();
  double lowest = 1;
  for (int i = 0; i <= 300; ++i) {
    const BodyPose pose = p.PoseAt(i / 60.0);
    hips += At(pose, kPelvis) / 301;
    ahead += pose.q_WT * Vector3d::UnitY() / 301;
    for (const int toe : {kToeL, kToeR}) lowest = std::min(lowest, At(pose, toe).z());
  }
  EXPECT_NEAR(hips.x(), 0, 0.05);  // the figure sways by 0.1 m about where its median stands
  EXPECT_LT(hips.y(), -Workshop().standoff_m);
  EXPECT_NEAR(std::atan2(ahead.x(), ahead.y()), 0, 0.02);
  // The toe's capsule has a radius of 0.019 statures and touches the floor; 5 % of the frames may press into it a little.
  EXPECT_NEAR(lowest, 0.019 * 1.72, 0.01);
}

TEST(Recorded, IsTheFilesBodyMovedAsAWhole) {
  const Lesson lesson = FigureLesson("");
  const Performance p = Perform(lesson);
  const Recording& r = lesson.recorded->motion;
  const std::pair<TrackPoint, int> pairs[] = {{TrackPoint::kElbowL, kElbowL}, {TrackPoint::kWristL, kWristL},
                                              {TrackPoint::kWristR, kWristR}, {TrackPoint::kKneeR, kKneeR},
                                              {TrackPoint::kToeL, kToeL},     {TrackPoint::kAnkleR, kAnkleR},
                                              {TrackPoint::kNeck, kNeck},     {TrackPoint::kShoulderR, kShoulderR}};
  for (const size_t frame : {size_t{60}, size_t{150}, size_t{240}}) {  // not in the eased first and last half second
    const BodyPose pose = p.PoseAt(static_cast<double>(frame) / r.rate_hz);
    for (const auto& [a, point_a] : pairs) {
      for (const auto& [b, point_b] : pairs) {
        EXPECT_NEAR((At(pose, point_a) - At(pose, point_b)).norm(), (r.At(frame, a) - r.At(frame, b)).norm(), 1e-9);
      }
    }
  }
}

TEST(Recorded, KeepsItsBonesBetweenFrames) {
  const Performance p = Perform(FigureLesson(""));
  double worst = 0;
  for (int i = 0; i < 5000; ++i) {
    const BodyPose pose = p.PoseAt(0.001 * i);
    worst = std::max(worst, std::abs((At(pose, kElbowL) - At(pose, kWristL)).norm() - 0.25));
    worst = std::max(worst, std::abs((At(pose, kHipR) - At(pose, kKneeR)).norm() - 0.42));
  }
  EXPECT_LT(worst, 1e-5);  // a spline through 60 frames a second of gestures of a second or two
}

/// How much a derivative changes about t, by differences.
double Jump(const std::function<Vector3d(double)>& at, double t, int order) {
  const double h = 1e-3;
  if (order == 1) return ((at(t + h) - at(t)) / h - (at(t) - at(t - h)) / h).norm();
  const auto second = [&](double s) { return Vector3d((at(s + h) - 2 * at(s) + at(s - h)) / (h * h)); };
  return (second(t + h) - second(t - h)).norm();
}

TEST(Recorded, HasNoJumpInSpeedOrAccelerationAnywhere) {
  const Performance p = Perform(FigureLesson(""));
  const auto wrist = [&](double t) { return At(p.PoseAt(t), kWristR); };
  // A jump would stand at a frame's time, at an end, or where the easing begins. The bounds are what smooth motion changes over
  // the differences' own 2 ms (accelerations up to 3 m/s², jerks up to 40 m/s³ where it is eased).
  constexpr double kSpeed = 0.004, kAcceleration = 0.1;
  for (const double t : {0.002, 0.25, 0.5, 0.5 + 1e-4, 1.0, 61.0 / 60, 2.5, 151.0 / 60, 4.5, 4.75, 4.998}) {
    EXPECT_LT(Jump(wrist, t, 1), kSpeed) << t;
    EXPECT_LT(Jump(wrist, t, 2), kAcceleration) << t;
  }
  // Straight lines between frames would be found out at once.
  const auto corners = [&](double t) {
    const double frame = std::floor(t * 60), share = t * 60 - frame;
    return Vector3d((1 - share) * wrist(frame / 60) + share * wrist((frame + 1) / 60));
  };
  double worst = 0;
  for (int frame = 60; frame < 240; ++frame) worst = std::max(worst, Jump(corners, frame / 60.0, 1));
  EXPECT_GT(worst, kSpeed);
  // Rest at the ends.
  EXPECT_LT((wrist(1e-3) - wrist(0)).norm(), 1e-7);
  EXPECT_LT((wrist(5 - 1e-3) - wrist(5)).norm(), 1e-7);
  EXPECT_EQ(At(p.PoseAt(-3), kHeadHigh), At(p.PoseAt(0), kHeadHigh));
  EXPECT_EQ(At(p.PoseAt(99), kHeadHigh), At(p.PoseAt(p.duration_s()), kHeadHigh));
}

TEST(Recorded, IsAPureFunctionOfTimeWhateverTheSeed) {
  const Lesson lesson = FigureLesson("");
  const Performance a = Perform(lesson), b(lesson, Workshop(), Devon(), 77);
  std::vector<double> times;
  for (int i = 0; i < 50; ++i) times.push_back(std::fmod(i * 1.7, 5.0));
  for (const double t : times) {
    const BodyPose x = a.PoseAt(t);
    a.PoseAt(4.9 - t);
    const BodyPose y = b.PoseAt(t), z = a.PoseAt(t);
    for (size_t i = 0; i < x.p_W.size(); ++i) {
      ASSERT_EQ(x.p_W[i], y.p_W[i]);
      ASSERT_EQ(x.p_W[i], z.p_W[i]);
    }
  }
}

TEST(Recorded, StandsWhereTheLessonSays) {
  const Performance p = Perform(FigureLesson(", place: {at_mm: [300, -400], yaw_deg: 90}"));
  Vector3d hips = Vector3d::Zero(), ahead = Vector3d::Zero();
  for (int i = 0; i <= 300; ++i) {
    const BodyPose pose = p.PoseAt(i / 60.0);
    hips += At(pose, kPelvis) / 301;
    ahead += pose.q_WT * Vector3d::UnitY() / 301;
  }
  EXPECT_NEAR(hips.x(), 0.3, 0.05);
  EXPECT_NEAR(hips.y(), -0.4, 0.05);
  EXPECT_LT(ahead.x(), -0.9);  // a quarter turn to the left
}

/// The same figure led along a line at 0.5 m/s.
BvhStyle Walking() {
  BvhStyle style;
  style.frames = 601;
  style.walk_mps = 0.5;
  return style;
}

TEST(Recorded, WalkingAboutIsToldAndCanBeTakenOut) {
  const auto strays = [](const Performance& p) {
    double far = 0;
    for (double t = 0; t <= p.duration_s(); t += 0.1) {
      far = std::max(far, (At(p.PoseAt(t), kPelvis) - At(p.PoseAt(p.duration_s() / 2), kPelvis)).head<2>().norm());
    }
    return far;
  };
  const Performance walks = Perform(FigureLesson("", "", Walking()));
  EXPECT_GT(strays(walks), 2);
  EXPECT_THAT(walks.notes(), Contains(HasSubstr("`place: on-the-spot`")));
  EXPECT_THAT(walks.notes(), Contains(HasSubstr("the hips are within the bench")));
  const Performance stays = Perform(FigureLesson(", place: on-the-spot", "", Walking()));
  EXPECT_LT(strays(stays), 0.25);  // what of the sway is faster than 0.3 Hz is left
  EXPECT_THAT(stays.notes(), testing::Not(Contains(HasSubstr("on-the-spot"))));
}

TEST(Recorded, LengthsAreMeasuredAndTheRestIsTheirShare) {
  const Lesson lesson = FigureLesson("");
  const Performance p = Perform(lesson);
  const double stature = lesson.recorded->motion.stature_m;
  EXPECT_NEAR(p.body().hand_length_m, 0.108 * stature, 1e-9);
  EXPECT_NEAR(p.body().head_height_m, 0.130 * stature, 1e-9);
  const BodyPose pose = p.PoseAt(2);
  // Eyes ahead, above the chin, on top of the neck.
  EXPECT_GT(pose.p_WHead().z(), At(pose, kNeck).z() + 0.05);
  EXPECT_LT((pose.p_WHead() - At(pose, kNeck)).norm(), 0.3);
  EXPECT_GT((pose.gaze_W).dot(pose.q_WT * Vector3d::UnitY()), 0.7);
}

TEST(Recorded, FingersAreMadeUpOnTheWristAndSaidToBe) {
  const Performance p = Perform(FigureLesson(""));
  EXPECT_THAT(p.notes(), Contains(HasSubstr("made up: left fingers, right fingers")));
  for (const double t : {1.0, 2.2, 3.7}) {
    const BodyPose pose = p.PoseAt(t);
    for (const Side side : {kLeft, kRight}) {
      const Vector3d wrist = At(pose, OfSide(kWristL, side)), middle = At(pose, HandPoint(side, 9));
      EXPECT_EQ(At(pose, HandPoint(side, 0)), wrist);
      EXPECT_NEAR((middle - wrist).norm(), 0.5 * p.body().hand_length_m, 0.02);
      // The thumb lies on the inner side of a hand whose palm is down: to the other side of index and little finger's line.
      const Vector3d index = At(pose, HandPoint(side, 5)), little = At(pose, HandPoint(side, 17)),
                     thumb = At(pose, HandPoint(side, 3));
      EXPECT_GT((thumb - wrist).dot(index - little), 0);
    }
  }
}

TEST(Recorded, SentencesAndIntentsLieOnTheLessonsClock) {
  const Performance p = Perform(FigureLesson(", start_s: 0.5, length_s: 4.25", R"(intents:
  - {from_s: 0.2, to_s: 1, subject: face, size: medium}
  - {from_s: 1.5, subject: hands, size: close-up}
)"));
  ASSERT_EQ(p.sentences().size(), 2u);
  EXPECT_NEAR(p.sentences()[0].start_s, 0.5, 1e-9);
  EXPECT_NEAR(p.sentences()[0].end_s, 1.5, 1e-9);
  EXPECT_EQ(p.sentences()[1].text, "Press hard.");
  EXPECT_NEAR(p.sentences()[1].end_s, 4.25, 1e-9);  // cut with the motion
  ASSERT_EQ(p.intents().size(), 2u);
  EXPECT_EQ(p.intents()[0].start_s, 0);
  EXPECT_EQ(p.intents()[1].start_s, 3);  // the first has its 3 s
  EXPECT_NEAR(p.duration_s(), 6, 1e-9);  // and so has the last
  ASSERT_EQ(p.beats().size(), 3u);
  EXPECT_EQ(p.beats()[1].label, "sentence 1");
  EXPECT_NEAR(p.beats()[1].start_s, 0.5, 1e-9);
  EXPECT_EQ(p.intents()[1].beat, 1);
}

TEST(Recorded, PropsLieAreCarriedAndAreLaidDown) {
  const Performance p = Perform(FigureLesson(", carried: [{prop: awl, hand: right, from_s: 1, to_s: 3, to_mm: [0, 200]}]"));
  const auto at = [&](double t) { return p.PropsAt(t)[0]; };
  const double top = Workshop().height_m;
  EXPECT_LT((at(0.5).X_WP.translation() - Vector3d(0.2, 0.24, top + 0.009)).norm(), 1e-9);
  EXPECT_EQ(at(0.5).carrier, -1);
  EXPECT_EQ(at(2).carrier, kRight);
  const BodyPose pose = p.PoseAt(2);
  const Vector3d tips =
      0.5 * At(pose, HandPoint(kRight, 4)) + 0.25 * (At(pose, HandPoint(kRight, 8)) + At(pose, HandPoint(kRight, 12)));
  EXPECT_LT((at(2).X_WP.translation() - tips).norm(), 1e-6);
  EXPECT_LT((At(pose, HandPoint(kRight, 4)) - At(pose, HandPoint(kRight, 8))).norm(), 0.03);  // thumb and index close on 20 mm
  EXPECT_LT((at(4).X_WP.translation() - Vector3d(0, 0.2, top + 0.009)).norm(), 1e-9);
  EXPECT_EQ(at(4).carrier, -1);
  double fastest = 0;
  for (double t = 0.9; t < 3.2; t += 0.001)
    fastest = std::max(fastest, (at(t + 0.001).X_WP.translation() - at(t).X_WP.translation()).norm() / 0.001);
  EXPECT_LT(fastest, 6);  // goes over within 0.4 s, no jump
}

TEST(Recorded, HandsInUseAreThoseThatMoveUnlessTheLessonSaysWhich) {
  const auto busy = [](const Performance& p, Side side) {
    int count = 0;
    for (int i = 0; i < 50; ++i) count += p.PoseAt(0.1 * i).hand_in_use[side] ? 1 : 0;
    return count;
  };
  BvhStyle frozen;
  frozen.frozen = true;
  const Performance moves = Perform(FigureLesson("")), rests = Perform(FigureLesson("", "", frozen));
  for (const Side side : {kLeft, kRight}) {
    EXPECT_GT(busy(moves, side), 25);
    EXPECT_EQ(busy(rests, side), 0);
  }
  const Performance told = Perform(FigureLesson(", hands_in_use: [{hands: right, from_s: 1, to_s: 2}]"));
  EXPECT_FALSE(told.PoseAt(0.5).hand_in_use[kRight]);
  EXPECT_TRUE(told.PoseAt(1.5).hand_in_use[kRight]);
  EXPECT_FALSE(told.PoseAt(1.5).hand_in_use[kLeft]);
  EXPECT_FALSE(told.PoseAt(2.5).hand_in_use[kRight]);
}

TEST(Recorded, TheIdentityOfATakeCoversWhatWasRecorded) {
  TakeSetup setup;
  setup.lesson = FigureLesson("");
  const std::string before = IdentityOf(setup).inputs_hash;
  auto other = std::make_shared<RecordedLesson>(*setup.lesson.recorded);
  setup.lesson.recorded = other;
  EXPECT_EQ(IdentityOf(setup).inputs_hash, before);
  other->files[0].text += "\n";
  EXPECT_NE(IdentityOf(setup).inputs_hash, before);
}

}  // namespace
}  // namespace dryrig
