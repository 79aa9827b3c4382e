#include "sim/work_motion.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/motion.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Vector3d;

namespace {

constexpr double kTau = 2 * std::numbers::pi;
constexpr double kTwistLever_m = 0.03;  // a span of twist is that of a point this far from the axis

Matrix3d AboutY(double a) {
  return Eigen::AngleAxisd(a, Vector3d::UnitY()).toRotationMatrix();
}

}  // namespace

WorkOffset WorkAt(const WorkSpan& w, double t_s) {
  WorkOffset out;
  const double since = t_s - w.start_s, left = w.end_s - t_s;
  if (since <= 0 || left <= 0) return out;
  const double slow = std::sin(w.drift_omega * since + w.drift_phase);
  const double phi = w.omega * since + w.phase + w.drift * slow;
  const double fade = MinJerk(since / w.fade_s) * MinJerk(left / w.fade_s);
  const double a = fade * w.size_m * (1 + 0.15 * w.drift * slow);
  const double s = std::sin(phi), c = std::cos(phi), up = 0.5 * (1 - c);
  double along = 0, across = 0, rise = 0;
  if (w.hover) {
    along = s, across = 0.6 * std::sin(0.7 * phi), rise = 0.5 * c;
  } else {
    switch (w.motion) {
      case WorkMotion::kStroke:
        along = s, rise = 0.3 * up;
        break;  // lifted on the way back
      case WorkMotion::kCircle:
        // An ellipse run through by two sines, which keeps the two-thirds power law of speed and curvature exactly.
        along = 0.6 * s, across = c;
        break;
      case WorkMotion::kTwist:
        break;
      case WorkMotion::kTap:
        rise = 2 * up * up;
        break;
      case WorkMotion::kPress:
        along = 0.5 * s, rise = 0.6 * up * up * up;
        break;                   // mostly down
      case WorkMotion::kStitch:  // in, through, pulled out sideways
        across = 0.9 * s, along = 0.3 * std::sin(phi / 5), rise = 0.6 * (1 - std::cos(2 * phi)) * 0.5;
        break;
    }
  }
  out.wrist_Y = a * (along * w.along_Y + across * w.across_Y) + (a * rise + fade * w.rise_m) * Vector3d::UnitZ();
  if (w.turn_rad > 0) {
    out.roll = fade * (w.roll_bias + w.turn_rad * s);
    out.wrist_Y += w.R_YF * (AboutY(w.roll0) * w.p_R - AboutY(w.roll0 + out.roll) * w.p_R);
  }
  return out;
}

WorkSpan MakeWork(const Beat& beat, bool mirrored, RandomStream& random) {
  WorkSpan w;
  w.motion = beat.motion;
  w.omega = kTau * beat.rate_hz * std::clamp(1 + 0.04 * random.Normal(), 0.9, 1.1);
  w.phase = mirrored ? 0.5 * std::numbers::pi : 0;
  w.drift = random.Uniform(0.25, 0.5);
  w.drift_omega = w.omega * random.Uniform(0.13, 0.23);
  w.drift_phase = random.Uniform(0, kTau);
  w.size_m = 0.5 * beat.span_m * std::clamp(1 + 0.06 * random.Normal(), 0.85, 1.15);
  const double slant = random.Uniform(-0.35, 0.35), m = mirrored ? -1 : 1;
  w.along_Y = {std::sin(slant), std::cos(slant), 0};
  w.across_Y = {m * std::cos(slant), -m * std::sin(slant), 0};
  if (beat.motion == WorkMotion::kTwist) w.turn_rad = std::min(w.size_m / kTwistLever_m, 1.1);
  return w;
}

double WorkMargin_m(const Beat& beat) {
  return 0.6 * beat.span_m;
}

WorkSpan MakeHover(RandomStream& random) {
  WorkSpan w;
  w.hover = true;
  w.omega = kTau * random.Uniform(0.35, 0.6);
  w.phase = random.Uniform(0, kTau);
  w.size_m = random.Uniform(0.002, 0.004);
  return w;
}

void FixTwist(WorkSpan& w, Side side, const WristAngles& angles, const Matrix3d& R_YF, const Vector3d& p_H) {
  if (w.turn_rad <= 0) return;
  const auto [lo, hi] = RollRange(side);
  w.turn_rad = std::min(w.turn_rad, 0.5 * (hi - lo) - 0.02);
  w.roll0 = angles.roll;
  w.roll_bias = std::clamp(angles.roll, lo + w.turn_rad, hi - w.turn_rad) - angles.roll;
  w.R_YF = R_YF;
  w.p_R = HandInForearm({0, angles.flex, angles.deviate}) * p_H;
}

}  // namespace dryrig
