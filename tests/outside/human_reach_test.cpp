// Reaches and strokes as people make them, against published regularities. Sources beside each test.
#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include "tests/outside/listed.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig {
namespace {

using Eigen::Vector2d;
using Eigen::Vector3d;
using testing::MakeBeat;
using testing::PlainBench;
using testing::PlainLesson;
using testing::PlainPerson;

struct Line {
  double slope = 0, intercept = 0, r_squared = 0;
};
Line Regress(const std::vector<Vector2d>& points) {
  Vector2d mean = Vector2d::Zero();
  for (const Vector2d& p : points) mean += p / static_cast<double>(points.size());
  double xx = 0, xy = 0, yy = 0;
  for (const Vector2d& p : points) {
    const Vector2d d = p - mean;
    xx += d.x() * d.x(), xy += d.x() * d.y(), yy += d.y() * d.y();
  }
  return {xy / xx, mean.y() - xy / xx * mean.x(), xy * xy / (xx * yy)};
}

/// One reach of the right hand from rest to a cube of `width_m` at (x, y), seen from its wrist.
struct Reach {
  double distance_m = 0, from_s = 0, to_s = 0, peak_s = 0, peak_mps = 0, late_mps = 0;
  double widest_s = 0;  // when thumb and index are farthest from one another
  double Time_s() const { return to_s - from_s; }
};
Reach MeasureReach(double x, double y, double width_m, uint64_t seed, bool take) {
  Beat beat = MakeBeat(BeatKind::kReach, "cube");
  beat.take = take;
  Lesson lesson = PlainLesson({beat});
  lesson.props[0] = testing::BoxProp("cube", x, y, {width_m, width_m, 0.05});
  const Performance p(lesson, PlainBench(), PlainPerson(), seed);
  const auto wrist = [&](double t) { return p.PoseAt(t).p_W[kWristR]; };
  // Differences over 0.1 s do not see tremor of 10 Hz.
  const auto speed = [&](double t) { return (wrist(t + 0.05) - wrist(t - 0.05)).norm() / 0.1; };
  Reach r;
  const double end = p.beats()[0].ready_s + 0.2;
  for (double t = 0; t < end; t += 0.005) {
    if (speed(t) > r.peak_mps) r.peak_mps = speed(t), r.peak_s = t;
  }
  // A movement's ends by the common 5 % of its peak speed.
  r.from_s = r.to_s = r.peak_s;
  while (r.from_s > 0 && speed(r.from_s) > 0.05 * r.peak_mps) r.from_s -= 0.005;
  while (r.to_s < end && speed(r.to_s) > 0.05 * r.peak_mps) r.to_s += 0.005;
  r.distance_m = (wrist(r.to_s) - wrist(r.from_s)).norm();
  r.late_mps = speed(r.from_s + 0.75 * r.Time_s());
  double widest = 0;
  for (double t = r.from_s; t < r.to_s; t += 0.005) {
    const BodyPose pose = p.PoseAt(t);
    const double gap =
        (pose.p_W[static_cast<size_t>(HandPoint(kRight, 4))] - pose.p_W[static_cast<size_t>(HandPoint(kRight, 8))]).norm();
    if (gap > widest) widest = gap, r.widest_s = t;
  }
  return r;
}

// Fitts's law in Shannon form, MT = a + b log2(D/W + 1) (Fitts 1954; MacKenzie 1992): mean times of conditions lie on a line,
// with correlations above 0.9 in nearly all studies (MacKenzie 1992, from memory); b of 0.095 s a bit for fast tapping (his
// re-fit of Fitts 1954, from memory), more for unhurried reaches that end in a grasp.
TEST(HumanReachOutside, MeanTimesOfReachesFollowFittssLaw) {
  std::vector<Vector2d> conditions;
  for (const double width : {0.02, 0.03, 0.05, 0.08}) {
    // In front of the hand's own shoulder, as in the studies: across the body the trunk turns along, and takes its own time.
    for (const Vector2d& at : {Vector2d(0.15, 0.26), Vector2d(0.10, 0.30), Vector2d(0.20, 0.32), Vector2d(0.28, 0.24)}) {
      constexpr int kSeeds = 12;
      double time = 0, difficulty = 0;
      for (int seed = 1; seed <= kSeeds; ++seed) {
        const Reach r = MeasureReach(at.x(), at.y(), width, static_cast<uint64_t>(seed), false);
        time += r.Time_s() / kSeeds;
        difficulty += std::log2(r.distance_m / width + 1) / kSeeds;
      }
      conditions.emplace_back(difficulty, time);
    }
  }
  const Line line = Regress(conditions);
  RecordProperty("seconds_per_bit", std::to_string(line.slope));
  RecordProperty("r_squared", std::to_string(line.r_squared));
  EXPECT_GT(line.r_squared, 0.81);
  EXPECT_GT(line.slope, 0.09);
  EXPECT_LT(line.slope, 0.25);
  EXPECT_GT(line.intercept, 0);
  // The check's twin: times that do not know of difficulty.
  std::vector<Vector2d> shuffled = conditions;
  for (size_t i = 0; i < shuffled.size(); ++i) shuffled[i].y() = conditions[(7 * i + 3) % conditions.size()].y();
  EXPECT_LT(Regress(shuffled).r_squared, 0.81);
}

// Prehension: the hand is fastest before half-way, and its slow phase begins at about 75 % of the time (Jeannerod, J. Mot. Behav.
// 16 (1984) 235); earlier for small targets (MacKenzie et al. 1987, from memory: 0.33 to 0.5 of the time). Minimum jerk alone
// peaks at 0.5 and still has 56 % of its peak at 75 %.
TEST(HumanReachOutside, ReachesAreFastestBeforeHalfWayAndSlowTowardTheEnd) {
  double peak_fine = 0, peak_wide = 0, late = 0;
  constexpr int kSeeds = 30;
  for (int seed = 1; seed <= kSeeds; ++seed) {
    const Reach fine = MeasureReach(0.05, 0.36, 0.02, static_cast<uint64_t>(seed), true);
    const Reach wide = MeasureReach(0.05, 0.36, 0.08, static_cast<uint64_t>(seed), true);
    peak_fine += (fine.peak_s - fine.from_s) / fine.Time_s() / kSeeds;
    peak_wide += (wide.peak_s - wide.from_s) / wide.Time_s() / kSeeds;
    late += fine.late_mps / fine.peak_mps / kSeeds;
  }
  RecordProperty("peak_at_share_of_time", std::to_string(peak_fine));
  EXPECT_GT(peak_fine, 0.33);
  EXPECT_LT(peak_fine, 0.47);
  EXPECT_LT(peak_fine, peak_wide - 0.01);
  EXPECT_LT(late, 0.45);
}

// The grasp opens widest after the hand's peak of speed, at 60 to 80 % of the time (Jeannerod 1984: the fingers begin to close as
// the slow phase begins, about 75 %).
TEST(HumanReachOutside, TheGraspIsWidestAtAboutThreeQuartersOfTheReach) {
  double widest = 0;
  constexpr int kSeeds = 20;
  for (int seed = 1; seed <= kSeeds; ++seed) {
    const Reach r = MeasureReach(0.05, 0.36, 0.03, static_cast<uint64_t>(seed), true);
    EXPECT_GT(r.widest_s, r.peak_s);
    widest += (r.widest_s - r.from_s) / r.Time_s() / kSeeds;
  }
  EXPECT_GT(widest, 0.60);
  EXPECT_LT(widest, 0.80);
}

/// Exponent of speed over curvature along a path, by the regression of their logarithms.
double PowerLawExponent(const std::function<Vector3d(double)>& at, double from_s, double to_s) {
  constexpr double h = 0.1;  // differences over 0.1 s do not see tremor of 10 Hz
  std::vector<Vector2d> points;
  for (double t = from_s; t < to_s; t += 0.01) {
    const Vector3d v = (at(t + h) - at(t - h)) / (2 * h), a = (at(t + h) - 2 * at(t) + at(t - h)) / (h * h);
    const double curvature = v.cross(a).norm() / std::pow(v.norm(), 3);
    points.emplace_back(std::log(curvature), std::log(v.norm()));
  }
  return Regress(points).slope;
}

// Two-thirds power law: along curved strokes speed goes as curvature to the power of -1/3 (Lacquaniti, Terzuolo & Viviani, Acta
// Psychol. 54 (1983) 115, from memory; reported exponents lie within about 0.05 of it).
TEST(HumanReachOutside, CurvedStrokesKeepTheTwoThirdsPowerLaw) {
  double sum = 0;
  constexpr int kSeeds = 8;
  for (int seed = 1; seed <= kSeeds; ++seed) {
    Beat work = MakeBeat(BeatKind::kWork, "cube", 14);
    work.motion = WorkMotion::kCircle;
    work.rate_hz = 0.6;
    work.span_m = 0.12;
    const Performance p(PlainLesson({work}), PlainBench(), PlainPerson(), static_cast<uint64_t>(seed));
    const auto wrist = [&](double t) { return p.PoseAt(t).p_W[kWristR]; };
    const double exponent = PowerLawExponent(wrist, p.beats()[0].ready_s + 1, p.beats()[0].end_s - 1);
    EXPECT_NEAR(exponent, -1.0 / 3, 0.08) << seed;
    sum += exponent / kSeeds;
  }
  EXPECT_NEAR(sum, -1.0 / 3, 0.05);
  // The check's twin: the same ellipse at constant speed.
  const auto constant = [](double t) -> Vector3d {
    double u = 0;
    for (double s = 0; s < 4 * t; s += 0.002) u += 0.002 / std::hypot(0.6 * std::cos(u), std::sin(u));
    return {0.06 * std::cos(u), 0.036 * std::sin(u), 0};
  };
  EXPECT_GT(PowerLawExponent(constant, 1, 3), -0.1);
}

}  // namespace
}  // namespace dryrig
