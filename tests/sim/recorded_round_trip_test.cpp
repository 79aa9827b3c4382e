// What a scripted performance does, written down as a pose track and read back, is the same performance.
#include <fmt/format.h>
#include <gmock/gmock.h>

#include "scenes/catalogue.h"
#include "scenes/recorded_lesson.h"
#include "sim/performance.h"
#include "sim/skeleton.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Contains;
using testing::HasSubstr;
using testing::Not;

constexpr double kLength_s = 20;

struct Cast {
  Lesson lesson = ReadLesson(FindScene(SceneKind::kLesson, "booklet"));
  Bench bench = ReadBench(FindScene(SceneKind::kBench, "workshop-bench"));
  PersonSpec person = ReadPerson(FindScene(SceneKind::kPerson, "devon"));
  Performance scripted{lesson, bench, person, 3};
};

/// A tracker of points that misses nothing.
std::string WriteDown(const Performance& performance, bool with_fingers) {
  std::string text = "t,joint,x,y,z\n";
  for (int f = 0; f <= static_cast<int>(kLength_s * 60); ++f) {
    const double t_s = f / 60.0;
    const BodyPose pose = performance.PoseAt(t_s);
    const auto add = [&](const std::string& name, const Vector3d& p) {
      text += fmt::format("{:.6f},{},{:.6f},{:.6f},{:.6f}\n", t_s, name, p.x(), p.y(), p.z());
    };
    const auto at = [&](int point) { return pose.p_W[static_cast<size_t>(point)]; };
    add("pelvis", at(kPelvis)), add("spine", at(kLumbar)), add("chest", at(kThorax)), add("neck", at(kNeck));
    add("nose", pose.p_WHead() + pose.q_WHd * Vector3d(0, 0.1, 0));
    for (const Side side : {kLeft, kRight}) {
      const std::string s = side == kLeft ? "left_" : "right_";
      const double right = side == kRight ? 1 : -1;
      add(s + "ear", pose.p_WHead() + pose.q_WHd * Vector3d(right * 0.07, 0, 0));
      add(s + "eye", pose.p_WHead() + pose.q_WHd * Vector3d(right * 0.03, 0.09, 0));
      for (const auto& [name, point] : {std::pair{"shoulder", kShoulderL},
                                        {"elbow", kElbowL},
                                        {"wrist", kWristL},
                                        {"hip", kHipL},
                                        {"knee", kKneeL},
                                        {"ankle", kAnkleL},
                                        {"toe", kToeL}}) {
        add(s + name, at(OfSide(point, side)));
      }
      for (int i = 1; with_fingers && i < kHandLandmarks; ++i) add(ToString(FingerAt(side, i)), at(HandPoint(side, i)));
    }
  }
  return text;
}

Performance ReadBack(const Cast& cast, const std::string& track) {
  const Vector3d hips = cast.scripted.PoseAt(0).p_W[kPelvis];
  const std::string text = fmt::format(
      "dryrig: lesson/1\ntitle: Again\ncraft: none\nhard_for: nothing\nbench: workshop-bench\nrecorded:\n  motion: a.csv\n"
      "  place: {{at_mm: [{:.1f}, {:.1f}]}}\n",
      hips.x() * 1000, hips.y() * 1000);
  return Performance(ParseLesson(text, "a.yaml", [&](const std::string&, const std::string&) { return track; }), cast.bench,
                     cast.person, 1);
}

/// Root mean square, and most, of how far points are apart when both performances are laid over each other at their hips.
struct Apart {
  double rms = 0, most = 0;
};
Apart Compare(const Performance& a, const Performance& b, const std::vector<int>& points) {
  Apart out;
  int count = 0;
  for (double t = 1; t < kLength_s - 1; t += 0.05) {  // the ends are eased
    const BodyPose x = a.PoseAt(t), y = b.PoseAt(t);
    for (const int i : points) {
      const auto p = static_cast<size_t>(i);
      const double off = ((x.p_W[p] - x.p_W[kPelvis]) - (y.p_W[p] - y.p_W[kPelvis])).norm();
      out.rms += off * off;
      out.most = std::max(out.most, off);
      ++count;
    }
  }
  out.rms = std::sqrt(out.rms / count);
  return out;
}

TEST(RecordedRoundTrip, BodyHeadAndFingersComeBack) {
  const Cast cast;
  const Performance recorded = ReadBack(cast, WriteDown(cast.scripted, true));
  std::vector<int> joints, fingers;
  for (int i = 0; i < kHandL; ++i) joints.push_back(i);
  for (int i = kHandL; i < kNumBodyPoints; ++i) fingers.push_back(i);
  // The placing turns the torso's mean to face the bench, a scripted one is a degree or two off; the low-pass rounds the quickest
  // reaches by millimetres.
  const Apart body = Compare(cast.scripted, recorded, joints), hands = Compare(cast.scripted, recorded, fingers);
  EXPECT_LT(body.rms, 0.015);
  EXPECT_LT(hands.rms, 0.025);
  EXPECT_LT(hands.most, 0.08);
  EXPECT_THAT(recorded.notes(), Not(Contains(HasSubstr("fingers"))));
  double head = 0;
  for (double t = 1; t < kLength_s - 1; t += 0.1) {
    const BodyPose x = cast.scripted.PoseAt(t), y = recorded.PoseAt(t);
    head = std::max(head, (x.q_WHd * Vector3d::UnitY() - y.q_WHd * Vector3d::UnitY()).norm());
  }
  EXPECT_LT(head, 0.15);
}

TEST(RecordedRoundTrip, HandsInUseAreMostlyTheSame) {
  const Cast cast;
  const Performance recorded = ReadBack(cast, WriteDown(cast.scripted, false));
  int same = 0, all = 0;
  for (double t = 1; t < kLength_s - 1; t += 0.05) {
    const auto a = cast.scripted.PoseAt(t).hand_in_use, b = recorded.PoseAt(t).hand_in_use;
    for (const Side side : {kLeft, kRight}) {
      same += a[side] == b[side] ? 1 : 0;
      ++all;
    }
  }
  EXPECT_GT(same, 0.6 * all);  // speed is a guess; a lesson may say which
  EXPECT_THAT(recorded.notes(), Contains(HasSubstr("made up: left fingers, right fingers")));
}

TEST(RecordedRoundTrip, LengthsOfThePersonComeBack) {
  const Cast cast;
  const Performance recorded = ReadBack(cast, WriteDown(cast.scripted, true));
  // Stature is told from thigh, shank and trunk by published shares, which a measured person follows to a few per cent.
  EXPECT_NEAR(recorded.body().head_height_m, cast.scripted.body().head_height_m, 0.01);
  EXPECT_NEAR(recorded.body().hand_length_m, cast.scripted.body().hand_length_m, 0.01);
  ASSERT_EQ(recorded.body().capsules.size(), cast.scripted.body().capsules.size());
  for (size_t i = 0; i < recorded.body().capsules.size(); ++i) {
    EXPECT_NEAR(recorded.body().capsules[i].radius_m, cast.scripted.body().capsules[i].radius_m, 0.006)
        << recorded.body().capsules[i].name;
  }
}

}  // namespace
}  // namespace dryrig
