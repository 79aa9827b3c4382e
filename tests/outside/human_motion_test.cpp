// How people move, against published numbers. Sources beside each test.
#include <gtest/gtest.h>

#include <cmath>
#include <complex>
#include <numbers>

#include "sim/hand.h"
#include "sim/motion.h"
#include "sim/skeleton.h"
#include "tests/outside/listed.h"
#include "tests/sim/joint_angles.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector3d;
using testing::Cast;
using testing::FewCasts;
using testing::MakeBeat;
using testing::PlainBench;
using testing::PlainLesson;
using testing::PlainPerson;
using testing::ShippedCasts;

constexpr double kDeg = std::numbers::pi / 180;

// Flash & Hogan, J. Neurosci. 5 (1985) 1688; constants from the closed form x = D(10τ³ - 15τ⁴ + 6τ⁵).
TEST(HumanMotionOutside, MinimumJerkHasItsClosedFormsConstants) {
  const double h = 1e-4;
  const auto v = [&](double t) { return (MinJerk(t + h) - MinJerk(t - h)) / (2 * h); };
  const auto a = [&](double t) { return (MinJerk(t + h) - 2 * MinJerk(t) + MinJerk(t - h)) / (h * h); };
  const auto j = [&](double t) { return (a(t + 50 * h) - a(t - 50 * h)) / (100 * h); };
  EXPECT_NEAR(v(0.5), 1.875, 1e-6);
  EXPECT_NEAR(a(0.211325), 5.773503, 1e-5);
  EXPECT_NEAR(a(0.788675), -5.773503, 1e-5);
  EXPECT_NEAR(j(0.5), -30, 0.02);      // third differences over 1 % of the time: 360 h² off
  EXPECT_NEAR(j(0.006), 57.85, 0.05);  // 60(1 - 6τ + 6τ²), which is 60 at the very end
  double squares = 0;
  for (int i = 0; i < 1000; ++i) {
    const double t = (i + 0.5) / 1000;
    squares += std::pow(60 * (1 - 6 * t + 6 * t * t), 2) / 1000;
  }
  EXPECT_NEAR(squares, 720, 0.01);
}

TEST(HumanMotionOutside, AReachOfFortyCentimetresPassesTheTabulatedPoints) {
  MinJerkTrack<1> track;
  track.MoveTo(0, 0.8, MinJerkTrack<1>::Value(0.4));
  const struct {
    double tau, x, v, a;
  } kRows[] = {{0.10, 0.003424, 0.121500, 2.700000},
               {0.25, 0.041406, 0.527344, 3.515625},
               {0.50, 0.200000, 0.937500, 0},
               {0.75, 0.358594, 0.527344, -3.515625}};
  const double h = 1e-4;
  for (const auto& row : kRows) {
    const auto x = [&](double dt) { return track.At(0.8 * row.tau + dt)[0]; };
    EXPECT_NEAR(x(0), row.x, 5e-7);  // printed to six places
    EXPECT_NEAR((x(h) - x(-h)) / (2 * h), row.v, 1e-6);
    EXPECT_NEAR((x(h) - 2 * x(0) + x(-h)) / (h * h), row.a, 1e-5);
  }
}

// Fitts's index in Shannon form (MacKenzie 1992): D/W = 16, 8, 5.
TEST(HumanMotionOutside, FittsIndexIsShannons) {
  EXPECT_NEAR(FittsIndex_bits(0.16, 0.01), 4.087463, 5e-7);
  EXPECT_NEAR(FittsIndex_bits(0.08, 0.01), 3.169925, 5e-7);
  EXPECT_NEAR(FittsIndex_bits(0.05, 0.01), 2.584963, 5e-7);
  // The law is a straight line in it.
  const double slope = (ReachTime_s(0.16, 0.01) - ReachTime_s(0.08, 0.01)) / (4.087463 - 3.169925);
  EXPECT_NEAR(ReachTime_s(0.08, 0.01) - ReachTime_s(0.05, 0.01), slope * (3.169925 - 2.584963), 1e-6);
}

// Reaches of 0.2 to 0.5 m over a table last 0.5 to 1.0 s with a peak of 0.5 to 1.5 m/s (from memory); minimum jerk peaks
// half-way at 1.875 times the mean.
TEST(HumanMotionOutside, TableReachesHavePlausibleTimeAndSpeed) {
  int reaches = 0;
  for (int seed = 1; seed <= 40; ++seed) {
    for (const double y : {0.15, 0.3, 0.4}) {
      Lesson lesson = PlainLesson({MakeBeat(BeatKind::kReach, "cube")});
      lesson.props[0].at_m = {0.05, y};
      const Performance p(lesson, PlainBench(), PlainPerson(), static_cast<uint64_t>(seed));
      const auto wrist = [&](double t) { return p.PoseAt(t).p_W[kWristR]; };
      const double ready = p.beats()[0].ready_s;
      const double distance = (wrist(ready) - wrist(0)).norm();
      if (distance < 0.2 || distance > 0.5) continue;
      ++reaches;
      double peak = 0, begin = -1;
      for (double t = 0; t < ready; t += 0.005) {
        const double speed = (wrist(t + 0.005) - wrist(t - 0.005)).norm() / 0.01;
        peak = std::max(peak, speed);
        if (begin < 0 && speed > 0.03) begin = t;
      }
      EXPECT_GT(ready - begin, 0.45);
      EXPECT_LT(ready - begin, 1.1);
      EXPECT_GT(peak, 0.4);
      EXPECT_LT(peak, 1.5);
    }
  }
  EXPECT_GE(reaches, 40);
}

// Physiological tremor: 50 to 200 µm RMS at 8 to 12 Hz (review in PMC3989364).
TEST(HumanMotionOutside, HandsTrembleAsPublished) {
  for (const uint64_t seed : {1, 2, 3, 4, 5}) {
    const Performance p(PlainLesson({MakeBeat(BeatKind::kAddress, "", 12)}), PlainBench(), PlainPerson(), seed);
    const double from = p.beats()[0].ready_s + 0.5, length = 10, dt = 0.004;
    const int n = static_cast<int>(length / dt);
    std::vector<BodyPose> poses;
    for (int i = 0; i < n; ++i) poses.push_back(p.PoseAt(from + i * dt));
    for (const int wrist : {kWristL, kWristR}) {
      double in_band = 0, beside = 0;
      for (int axis = 0; axis < 3; ++axis) {
        // Discrete Fourier transform with a Hann window, which keeps slow sway out of the band.
        for (double f = 4; f <= 20; f += 0.1) {
          std::complex<double> sum = 0;
          for (int i = 0; i < n; ++i) {
            const double hann = 1 - std::cos(2 * std::numbers::pi * i / n);
            sum += hann * poses[i].p_W[wrist][axis] * std::polar(1.0, -2 * std::numbers::pi * f * i * dt);
          }
          // The window's mean square is 3/2; two-sided.
          const double power = 2 * std::norm(sum / static_cast<double>(n)) / 1.5;
          (f > 7.5 && f < 12.5 ? in_band : beside) += power;
        }
      }
      EXPECT_GT(std::sqrt(in_band), 50e-6);
      EXPECT_LT(std::sqrt(in_band), 200e-6);
      EXPECT_LT(beside, 0.05 * in_band);
    }
  }
}

// Tea making (Land, Mennie & Rusted, Perception 28 (1999) 1311): the first fixation leads the hand by 0.56 s.
TEST(HumanMotionOutside, GazeLeadsTheHandByHalfASecond) {
  double sum = 0;
  int acts = 0;
  for (const Cast& cast : ShippedCasts()) {
    const Performance p = cast.Perform(1);
    for (size_t i = 0; i < cast.lesson.beats.size(); ++i) {
      const Beat& beat = cast.lesson.beats[i];
      if (beat.kind != BeatKind::kPoint) continue;
      if (i > 0 && cast.lesson.beats[i - 1].prop == beat.prop) continue;  // looked at already: no first fixation
      size_t prop = 0;
      while (cast.lesson.props[prop].name != beat.prop) ++prop;
      const double arrived = p.beats()[i].ready_s;
      const Vector3d at = p.PropsAt(arrived)[prop].X_WP.translation();
      double since = arrived;  // back to when the gaze came to it
      while (since > 0) {
        const BodyPose pose = p.PoseAt(since);
        const Vector3d line = at - pose.p_WHead() - pose.q_WHd * Vector3d(0, 0.4 * p.body().head_height_m, 0);
        if (std::atan2(pose.gaze_W.cross(line).norm(), pose.gaze_W.dot(line)) > 2 * kDeg) break;
        since -= 0.01;
      }
      sum += arrived - since;
      EXPECT_GT(arrived - since, 0.2) << cast.Name() << ' ' << p.beats()[i].label;
      ++acts;
    }
  }
  ASSERT_GT(acts, 20);
  EXPECT_NEAR(sum / acts, 0.56, 0.1);  // across tasks about 0.5 s is reported
}

// Ranges of the American Academy of Orthopaedic Surgeons (table A.1 of a public textbook; the neck from memory): elbow 0 to 150°,
// forearm ±80°, wrist flexion 80°, extension 70°, radial 20°, ulnar 30°, shoulder flexion 180°, extension 60°, rotation medial
// 70°, lateral 90°, neck flexion, extension 45°, rotation 60°.
TEST(HumanMotionOutside, JointsStayInsideTheRangesOfTheAaos) {
  for (const Cast& cast : FewCasts()) {
    SCOPED_TRACE(cast.Name());
    const Performance p = cast.Perform(1);
    for (double t = 0; t < p.duration_s(); t += 0.05) {
      const testing::JointAngles angles = testing::AnglesOf(p.PoseAt(t), p.body().hand_length_m);
      ASSERT_LT(std::abs(angles.neck_yaw), 60 * kDeg) << t;
      ASSERT_LT(std::abs(angles.neck_pitch), 45 * kDeg) << t;
      for (const auto& arm : angles.arm) {
        ASSERT_LT(arm.elbow, 150 * kDeg) << t;
        ASSERT_LT(arm.shoulder_extension, 60 * kDeg) << t;
        ASSERT_LT(arm.shoulder_medial, 70 * kDeg) << t;
        ASSERT_GT(arm.shoulder_medial, -90 * kDeg) << t;
        ASSERT_LT(std::abs(arm.pronation), 80 * kDeg) << t;
        ASSERT_GT(arm.wrist_extension, -80 * kDeg) << t;
        ASSERT_LT(arm.wrist_extension, 70 * kDeg) << t;
        ASSERT_LT(arm.wrist_radial, 20 * kDeg) << t;
        ASSERT_GT(arm.wrist_radial, -30 * kDeg) << t;
      }
    }
  }
}

}  // namespace
}  // namespace dryrig
