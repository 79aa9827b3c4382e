#include "sim/reach.h"

#include <algorithm>
#include <cmath>

#include "sim/distance.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Vector3d;

namespace {

constexpr double kEaseStretch = 0.90;  // arms are kept no straighter than this while a small lean will do
constexpr double kMostStretch = 0.94;
constexpr double kEaseLean = 0.26;                     // about 15°
constexpr double kEasePitch = 0.35, kMostPitch = 0.9;  // how far the hand may hang beyond its wish
constexpr double kSteepest = 1.35;
constexpr int kRounds = 60;
constexpr double kRelax = 0.6, kHopeless_m = 0.005;
constexpr double kMiss_m = 1e-6, kMostMiss_m = 1e-4;  // of the hand's point, when it is settled; that may be left
constexpr double kFingerClear_m = 0.009;              // middle of a finger's bone over the top

struct Stance {
  TrunkPose trunk;
  double lean, twist;
};

Stance Stand(const PersonBuild& build, double lean, double twist) {
  return {PoseTrunk(build, {.lean = lean, .twist = twist}), lean, twist};
}

/// The hand's wished orientation for a forearm or line to the goal along `line_Y`.
Matrix3d WishedHand(const HandGoal& goal, Side side, double pitch, const Vector3d& line_Y) {
  Vector3d y = Vector3d::UnitY(), x = Vector3d::UnitX();
  switch (goal.hold) {
    case HandHold::kPalmDown: {
      // Headed as the forearm, a little more straight ahead, which also settles a forearm that hangs straight down.
      Vector3d heading(line_Y.x(), std::max(line_Y.y(), 0.0) + 0.25, 0);
      heading.normalize();
      y = std::cos(pitch) * heading - std::sin(pitch) * Vector3d::UnitZ();
      x = Vector3d(heading.y(), -heading.x(), 0);
      break;
    }
    case HandHold::kPalmIn: {
      const double m = side == kRight ? 1 : -1;
      y = Vector3d(-0.45 * m, 0.45, 0.77).normalized();
      const Vector3d back(m, 0.3, 0);  // the hand's back, away from the middle
      x = y.cross(back).normalized();
      break;
    }
    case HandHold::kPointing:
      y = goal.aim_Y.normalized();
      x = Eigen::AngleAxisd(side == kRight ? goal.aim_roll : -goal.aim_roll, y) * y.cross(Vector3d::UnitZ()).normalized();
      break;
  }
  Matrix3d R;
  R << x, y, x.cross(y);
  if (goal.hold == HandHold::kPointing) R = R * Eigen::AngleAxisd(goal.aim_bend, Vector3d::UnitX()).toRotationMatrix();
  return R;
}

double QuickStretch(const PersonBuild& build, const Stance& stance, Side side, const HandGoal& goal, double pitch) {
  const Vector3d& shoulder = stance.trunk.shoulder[side];
  const Vector3d wrist = goal.point_Y - WishedHand(goal, side, pitch, goal.point_Y - shoulder) * goal.p_H;
  return ((wrist - shoulder).norm() + goal.margin_m) / (build.upper_arm + build.forearm);
}

/// Least pitch within `more` of the wish at which the hand gets there; negative: none.
double PitchFor(const PersonBuild& build, const Stance& stance, Side side, const HandGoal& goal, double limit, double more) {
  constexpr int kSteps = 4;
  for (int i = 0; i <= kSteps; ++i) {
    const double pitch = std::min(goal.pitch + more * i / kSteps, std::max(kSteepest, goal.pitch));
    if (QuickStretch(build, stance, side, goal, pitch) <= limit) return pitch;
    if (goal.hold != HandHold::kPalmDown) break;
  }
  return -1;
}

bool Reaches(const PersonBuild& build, const Stance& stance, const std::array<HandGoal, 2>& goals, double limit, double more) {
  return PitchFor(build, stance, kLeft, goals[kLeft], limit, more) >= 0 &&
         PitchFor(build, stance, kRight, goals[kRight], limit, more) >= 0;
}

/// Least lean in [lo, hi] that will do, or a negative number.
double LeastLean(const PersonBuild& build, const std::array<HandGoal, 2>& goals, double lo, double hi, double twist, double limit,
                 double more) {
  if (Reaches(build, Stand(build, lo, twist), goals, limit, more)) return lo;
  if (!Reaches(build, Stand(build, hi, twist), goals, limit, more)) return -1;
  while (hi - lo > 0.01) {
    const double mid = 0.5 * (lo + hi);
    (Reaches(build, Stand(build, mid, twist), goals, limit, more) ? hi : lo) = mid;
  }
  return hi;
}

/// Wrist and angles that bring the hand's point to its goal: a fixed point, as the forearm follows the wrist.
HandSolution SolveHand(const PersonBuild& build, const Stance& stance, Side side, const HandGoal& goal, double pitch,
                       double swivel, double bench_height_m) {
  HandSolution s;
  s.swivel = swivel;
  s.point_Y = goal.point_Y;
  Matrix3d R_YH = WishedHand(goal, side, pitch, goal.point_Y - stance.trunk.shoulder[side]);
  s.wrist_Y = s.point_Y - R_YH * goal.p_H;
  for (int change = 0; change < 8; ++change) {
    // Under-relaxed, as a long hand on a short forearm would swing to and fro.
    for (int i = 0; i < kRounds; ++i) {
      const ArmPose arm = PoseArm(build, stance.trunk, side, s.wrist_Y, {}, swivel);
      s.R_YF = arm.R_WF;
      s.stretch = arm.stretch;
      s.angles = WristAnglesFor(side, arm.R_WF.transpose() * WishedHand(goal, side, pitch, arm.R_WF.col(1)));
      if (goal.hold == HandHold::kPointing) {
        s.angles = AimFinger(side, s.angles.roll, goal.aim_bend, arm.R_WF.transpose() * goal.aim_Y.normalized());
      }
      R_YH = arm.R_WF * HandInForearm(s.angles);
      const Vector3d miss = s.point_Y - s.wrist_Y - R_YH * goal.p_H;
      s.miss_m = miss.norm();
      if (s.miss_m < kMiss_m || (i == kRounds / 3 && s.miss_m > kHopeless_m)) break;
      s.wrist_Y += kRelax * miss;
    }
    s.R_YH = R_YH;
    if (goal.loose && s.stretch < FreeFold(build.upper_arm, build.forearm) + 0.02) {
      s.point_Y += Vector3d(side == kRight ? 0.02 : -0.02, 0.04, 0);
      s.wrist_Y += Vector3d(side == kRight ? 0.02 : -0.02, 0.04, 0);
      continue;
    }
    if (!goal.over_bench) break;
    double lowest = 1e9;
    for (const Vector3d& p_H : HandLandmarks(side, goal.fingers, build.hand)) {
      lowest = std::min(lowest, s.wrist_Y.z() + R_YH.row(2).dot(p_H));
    }
    const double sunk = bench_height_m + goal.higher_m + kFingerClear_m - lowest;
    if (sunk <= 1e-4) break;
    s.point_Y.z() += sunk;
  }
  return s;
}

/// The same with the elbow lifted and the hand held steeper, as little as keeps the forearm out of what stands about it and the
/// fingers that do not grip from lifting those that do.
HandSolution SolveHandClear(const PersonBuild& build, const Stance& stance, Side side, const HandGoal& goal, double pitch,
                            double swivel, double bench_height_m, const Surroundings* around) {
  HandSolution best = SolveHand(build, stance, side, goal, pitch, swivel, bench_height_m);
  if (!around) return best;
  // Work moves the forearm a little beside its posture.
  const double touch_m = -0.002 - 0.35 * goal.margin_m;
  constexpr double kLifted_m = 0.004;
  const auto fault = [&](const HandSolution& s) {
    const ArmPose arm = PoseArm(build, stance.trunk, side, s.wrist_Y, s.angles, s.swivel);
    const double sunk = ForearmSunk_m(build, *around, arm.elbow, arm.wrist) - touch_m;
    const double lifted = goal.over_bench && !goal.loose ? s.point_Y.z() - goal.point_Y.z() - kLifted_m : 0;
    return std::max(sunk, 0.0) + std::max(lifted, 0.0);
  };
  double least = fault(best);
  for (const double lift : {0.0, 0.2, 0.4, 0.6, 0.8}) {
    for (const double steeper : {0.0, 0.12, 0.24, 0.36}) {
      if (least <= 0) return best;
      if ((lift == 0 && steeper == 0) || pitch + steeper > kSteepest) continue;
      const HandSolution other = SolveHand(build, stance, side, goal, pitch + steeper, swivel + lift, bench_height_m);
      const ArmPose arm = PoseArm(build, stance.trunk, side, other.wrist_Y, other.angles, other.swivel);
      const double medial = MedialRotation(stance.trunk, side, arm);
      if (other.miss_m > kMostMiss_m || medial > kMostMedial || medial < -kMostLateral) continue;
      const double now = fault(other);
      if (now > least - 0.001) continue;
      least = now;
      best = other;
    }
  }
  return best;
}

}  // namespace

double ForearmSunk_m(const PersonBuild& build, const Surroundings& around, const Vector3d& elbow_Y, const Vector3d& wrist_Y) {
  const Vector3d elbow = YawToWorld(build, around.turn, elbow_Y), wrist = YawToWorld(build, around.turn, wrist_Y);
  const Solid forearm = MakeCapsule(elbow, wrist, ForearmRadius(build));
  const double lowest = std::min(elbow.z(), wrist.z()) - ForearmRadius(build);
  double sunk = -1;
  for (const Solid& body : around.still_W) {
    const double above = lowest - body.p_WS.z() - body.half_m.z();
    sunk = std::max(sunk, above > 0 ? -above : -DistanceOf(forearm, body).distance_m);
  }
  return sunk;
}

BodySolution SolveBody(const PersonBuild& build, const std::array<HandGoal, 2>& goals, const std::array<double, 2>& swivel,
                       double bench_height_m, double least_lean, double most_lean, const Surroundings* around) {
  BodySolution out;
  double limit = kEaseStretch, more = kEasePitch, twist = 0;
  double lean = LeastLean(build, goals, least_lean, std::max(kEaseLean, least_lean), 0, limit, more);
  if (lean < 0) {
    limit = kMostStretch, more = kMostPitch;
    lean = LeastLean(build, goals, std::max(kEaseLean, least_lean), most_lean, 0, limit, more);
  }
  for (const double turn : {0.14, -0.14, 0.28, -0.28, 0.42, -0.42}) {
    if (lean >= 0) break;
    twist = turn;
    lean = LeastLean(build, goals, std::max(kEaseLean, least_lean), most_lean, twist, limit, more);
  }
  const double first_lean = lean >= 0 ? lean : most_lean;
  if (lean < 0) twist = 0;
  // The wrist's range moves hands a little off what the search took: a few more steps of lean settle it.
  constexpr double kLeanStep = 0.03;
  lean = first_lean;
  for (int round = 0; round < 8; ++round, lean = std::min(lean + kLeanStep, most_lean)) {
    const Stance stance = Stand(build, lean, twist);
    out.lean = lean, out.twist = twist;
    double worst = 0;
    bool folded = false;
    for (const Side side : {kLeft, kRight}) {
      double pitch = PitchFor(build, stance, side, goals[side], limit, more);
      if (pitch < 0) pitch = std::min(goals[side].pitch + more, std::max(kSteepest, goals[side].pitch));
      out.hands[side] = SolveHandClear(build, stance, side, goals[side], pitch, swivel[side], bench_height_m, around);
      const double length = build.upper_arm + build.forearm;
      const double stretch = out.hands[side].stretch + goals[side].margin_m / length;
      // A pointing hand has other places to go than one at the shoulder.
      folded = folded || (goals[side].hold == HandHold::kPointing &&
                          out.hands[side].stretch < FreeFold(build.upper_arm, build.forearm) + 0.03);
      if (stretch > worst) {
        worst = stretch;
        out.worst_hand = side;
        out.need_m = stretch * length;
        out.have_m = kFreeStretch * length;
      }
    }
    // A little under the free range, which leaves room for sway and breath.
    out.reached =
        !folded && worst <= kFreeStretch - 0.008 && std::max(out.hands[kLeft].miss_m, out.hands[kRight].miss_m) < kMostMiss_m;
    // A wrist at its bounds is not helped by leaning.
    if (out.reached || lean >= most_lean || worst <= kFreeStretch - 0.008) break;
  }
  return out;
}

}  // namespace dryrig
