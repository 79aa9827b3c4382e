// Ways between two postures on which nothing runs into anything.
#include <algorithm>
#include <cmath>

#include "sim/distance.h"
#include "sim/stager.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

constexpr int kLooks = 14;  // at so many instants of a move
constexpr double kHandsApart_m = 0.02, kOffBench_m = 0.005;
constexpr double kClear = 1e-6;       // of RunsInto: a millimetre at one instant
constexpr double kTipOff_m = 0.007;  // middle of a finger's end over a top
constexpr double kTurnLever_m = 0.05;  // an upper arm turned too far by an angle is as bad as something this far off run into

// A reach is fastest before half-way, the more so the finer its target (MacKenzie et al. 1987, from memory): at 0.47 of its
// time for a target of 8 cm, at 0.42 for one of 2 cm.
constexpr double kEarlyWide = 0.12, kEarlyFine = 0.32;

/// Bones that stand for a hand, as pairs of its landmarks.
constexpr std::pair<size_t, size_t> kBones[] = {{1, 4}, {0, 5}, {5, 8}, {9, 12}, {0, 17}, {17, 20}};

/// Segments that stand for forearm and hand.
struct ArmShape {
  std::array<std::pair<Vector3d, Vector3d>, 1 + std::size(kBones)> bones;
};

/// How far a finger's end is below the top of what stands there, less where it may be; 0 and below: it is clear.
double TipSunk_m(const std::vector<Solid>& still_W, const Vector3d& p_W) {
  double sunk = -1;
  for (const Solid& body : still_W) {
    const Vector3d in = body.half_m - (p_W - body.p_WS).cwiseAbs();
    if (in.head<2>().minCoeff() < 0 || p_W.z() < body.p_WS.z() - body.half_m.z()) continue;
    sunk = std::max(sunk, body.p_WS.z() + body.half_m.z() + kTipOff_m - p_W.z());
  }
  return sunk;
}

}  // namespace

Stager::Reach Stager::ToReach(const HandSolution& s) {
  Reach r;
  r << s.wrist_Y, s.angles.roll, s.angles.flex, s.angles.deviate, s.swivel;
  return r;
}

Stager::Reach Stager::HandSweep::At(double tau) const {
  const double own = std::clamp((tau - start) / (end - start), 0.0, 1.0);
  const double course = own + early * own * (1 - own);
  return from + MinJerk(course) * (to - from) + MinJerkBump(own) * arc;
}

double Stager::PeakSpeed(const Sweep& sweep) {
  constexpr int kSteps = 40;
  double peak = 0;
  for (const HandSweep& way : sweep.hands) {
    for (int i = 0; i < kSteps; ++i) {
      const double tau = static_cast<double>(i) / kSteps;
      peak = std::max(peak, (way.At(tau + 1.0 / kSteps) - way.At(tau)).head<3>().norm() * kSteps);
    }
  }
  return peak;
}

/// What is as near already at either end is the posture's affair.
double Stager::RunsInto(const Sweep& sweep) const {
  const double finger = 0.010 * build_.hand / 0.189;
  struct Instant {
    double gap = kHandsApart_m;
    std::array<double, 2> forearm{}, tips{}, bent{}, turned{};
  };
  std::array<Instant, kLooks + 1> looks;
  for (int i = 0; i <= kLooks; ++i) {
    const double tau = static_cast<double>(i) / kLooks;
    const Torso torso = sweep.torso_from + MinJerk(tau) * (sweep.torso_to - sweep.torso_from);
    const TrunkPose trunk = PoseTrunk(build_, {.lean = torso[1], .twist = torso[2]});
    const Surroundings around{still_W_, torso[0]};
    std::array<ArmShape, 2> shapes;
    Instant& look = looks[static_cast<size_t>(i)];
    for (const Side side : {kLeft, kRight}) {
      const HandSweep& way = sweep.hands[side];
      const Reach r = way.At(tau);
      const FingerPose fingers = way.fingers_from + MinJerk(tau) * (way.fingers_to - way.fingers_from);
      const auto landmarks = HandLandmarks(side, fingers, build_.hand);
      const ArmPose arm = PoseArm(build_, trunk, side, r.head<3>(), {r[3], r[4], r[5]}, r[6]);
      const double fold = FreeFold(build_.upper_arm, build_.forearm) + 0.005;
      look.bent[side] =
          std::max({0.0, fold - arm.stretch, arm.stretch - kFreeStretch + 0.014}) * (build_.upper_arm + build_.forearm);
      const double medial = MedialRotation(trunk, side, arm);
      look.turned[side] = kTurnLever_m * std::max({0.0, medial - kMostMedial, -kMostLateral - medial});
      ArmShape& shape = shapes[side];
      shape.bones[0] = {arm.elbow, arm.wrist};
      for (size_t k = 0; k < std::size(kBones); ++k) {
        const auto& [from, to] = kBones[k];
        const Vector3d tip = arm.wrist + arm.R_WH * landmarks[to];
        shape.bones[k + 1] = {arm.wrist + arm.R_WH * landmarks[from], tip};
        look.tips[side] = std::max(look.tips[side], TipSunk_m(still_W_, YawToWorld(build_, torso[0], tip)));
      }
      look.forearm[side] = std::max(0.0, ForearmSunk_m(build_, around, arm.elbow, arm.wrist) + kOffBench_m);
    }
    for (size_t a = 0; a < shapes[kLeft].bones.size(); ++a) {
      for (size_t b = 0; b < shapes[kRight].bones.size(); ++b) {
        const auto& [p0, p1] = shapes[kLeft].bones[a];
        const auto& [q0, q1] = shapes[kRight].bones[b];
        const double radii = (a == 0 ? ForearmRadius(build_) : finger) + (b == 0 ? ForearmRadius(build_) : finger);
        const double gap = std::sqrt(NearestOnSegments(p0, p1, q0, q1).squared_m2) - radii;
        look.gap = std::min(look.gap, gap);
      }
    }
  }
  const auto square_over = [](double x, double from, double to) {
    const double over = x - std::max(from, to);
    return over > 0 ? over * over : 0;
  };
  double cost = 0;
  for (size_t i = 1; i < kLooks; ++i) {
    cost += square_over(-looks[i].gap, -looks.front().gap, -looks.back().gap);
    for (const Side side : {kLeft, kRight}) {
      cost += square_over(looks[i].forearm[side], looks.front().forearm[side], looks.back().forearm[side]);
      cost += 0.5 * square_over(looks[i].bent[side], looks.front().bent[side], looks.back().bent[side]);
      cost += square_over(looks[i].turned[side], looks.front().turned[side], looks.back().turned[side]);
      cost += square_over(looks[i].tips[side], looks.front().tips[side], looks.back().tips[side]);
    }
  }
  return cost;
}

void Stager::ClearTheWay(Sweep* sweep) const {
  sweep->runs_into = RunsInto(*sweep);
  if (sweep->runs_into < kClear) return;
  const Sweep plain = *sweep;
  // Higher with the one hand or the other, both aside, the other one back or ahead; then with an elbow out; then one
  // after the other; at last the best of them bent in small steps.
  struct Manner {
    double elbow;
    int first;  // the side that goes first; -1: both at once
  };
  for (const Manner manner : {Manner{0, -1}, {0.4, -1}, {0.8, -1}, {0, kLeft}, {0, kRight}}) {
    for (const double high_m : {0.05, 0.0, 0.12}) {
      for (const double aside_m : {0.0, 0.08}) {
        for (const double back_m : {0.0, -0.06, 0.08}) {
          for (const int who : {0, 1, 2}) {
            Sweep other = plain;
            for (const Side side : {kLeft, kRight}) {
              HandSweep& way = other.hands[side];
              const bool this_one = who == 2 || who == side;
              Reach more = Reach::Zero();
              if (this_one) more.z() = high_m, more[6] = manner.elbow;
              more.x() = (side == kRight ? 1 : -1) * aside_m;
              if (who == 2 || !this_one) more.y() = back_m;
              way.arc += more;
              way.detour_m = more.head<3>().norm();
              if (manner.first < 0) continue;
              (manner.first == side ? way.end : way.start) = manner.first == side ? 0.7 : 0.3;
              way.detour_m += 0.5 * (way.to - way.from).head<3>().norm();
            }
            other.runs_into = RunsInto(other);
            if (other.runs_into > sweep->runs_into - kClear) continue;
            *sweep = other;
            if (sweep->runs_into < kClear) return;
          }
        }
      }
    }
  }
  BendAside(sweep);
}

void Stager::BendAside(Sweep* sweep) const {
  for (double step = 0.08; step > 0.009; step *= 0.5) {
    for (int round = 0; round < 3; ++round) {
      const double before = sweep->runs_into;
      for (const size_t side : {0, 1}) {
        for (const int axis : {0, 1, 2}) {
          for (const double by : {step, -step}) {
            Sweep other = *sweep;
            other.hands[side].arc[axis] += by;
            other.runs_into = RunsInto(other);
            if (other.runs_into >= sweep->runs_into) continue;
            other.hands[side].detour_m += step;
            *sweep = other;
            if (sweep->runs_into < kClear) return;
          }
        }
      }
      if (sweep->runs_into == before) break;
    }
  }
}

Stager::Sweep Stager::VariedWay(const Sweep& plain) {
  Sweep varied = plain;
  for (HandSweep& way : varied.hands) {
    const double distance = (way.to - way.from).head<3>().norm();
    if (distance <= 0.04) continue;
    way.arc.z() *= Vary(0.15);
    way.arc.x() += 0.05 * distance * std::clamp(paths_.Normal(), -2.0, 2.0);
  }
  varied.runs_into = RunsInto(varied);
  return varied.runs_into < plain.runs_into + kClear ? varied : plain;
}

std::array<HandGoal, 2> Stager::MakeRoom(std::array<HandGoal, 2> goals) const {
  constexpr double kRoom_m = 0.20;  // between the fingers of two hands
  for (const Side side : {kLeft, kRight}) {
    HandGoal& goal = goals[side];
    const HandGoal& other = goals[side == kRight ? kLeft : kRight];
    if (!goal.loose || other.loose) continue;
    const Vector3d usual = goal.point_Y;
    for (const auto& [out_m, back_m] : {std::pair{0.0, 0.0}, {0.0, 0.07}, {0.08, 0.0}, {0.08, 0.07}, {0.16, 0.0}, {0.16, 0.07}}) {
      goal.point_Y = usual + Vector3d(side == kRight ? out_m : -out_m, -back_m, 0);
      if ((goal.point_Y - other.point_Y).head<2>().norm() > kRoom_m) break;
    }
  }
  return goals;
}

double Stager::Move(double t_s, const std::array<HandGoal, 2>& wanted, const std::optional<Look>& look) {
  const std::array<HandGoal, 2> goals = MakeRoom(wanted);
  const BodySolution body = SolveOrThrow(goals);
  Sweep sweep = WayFor(goals, body, script_->torso.last());
  // Hands that cannot pass each other on any way go one after the other.
  constexpr double kInTheWay = 2.5e-5;  // 5 mm at one instant
  struct Detour {
    std::array<HandGoal, 2> goals;
    BodySolution body;
    Sweep first, second;
  };
  std::optional<Detour> detour;
  const bool turns = std::abs(turn_ - script_->torso.last()[0]) > 1e-6;
  const Surroundings around{still_W_, turn_};
  for (const Side side : {kLeft, kRight}) {
    const double least = detour ? detour->first.runs_into + detour->second.runs_into : sweep.runs_into;
    if (turns || least < kInTheWay) break;
    std::array<HandGoal, 2> alone{hands_[kLeft].goal, hands_[kRight].goal};
    alone[side] = goals[side];
    const BodySolution halfway = SolveBody(build_, alone, swivel_, top_z_, least_lean_, kMostLean, &around);
    if (!halfway.reached) continue;
    const Detour other{alone, halfway, WayFor(alone, halfway, script_->torso.last()),
                       WayFor(goals, body, Torso(turn_, halfway.lean, halfway.twist), &halfway)};
    if (other.first.runs_into + other.second.runs_into < 0.5 * least) detour = other;
  }
  if (detour) {
    t_s = MoveStraight(t_s, detour->goals, detour->body, {}, detour->first);
    sweep = detour->second;
  }
  return MoveStraight(t_s, goals, body, look, sweep);
}

Stager::Sweep Stager::WayFor(const std::array<HandGoal, 2>& goals, const BodySolution& body, const Torso& torso_from,
                             const BodySolution* from) const {
  Sweep sweep{torso_from, Torso(turn_, body.lean, body.twist), {}};
  for (const Side side : {kLeft, kRight}) {
    HandSweep& way = sweep.hands[side];
    way.from = from ? ToReach(from->hands[side]) : script_->hands[side].reach.last();
    way.to = ToReach(body.hands[side]);
    way.fingers_from = script_->hands[side].fingers.last();
    way.fingers_to = goals[side].fingers;
    const double distance = (way.to - way.from).head<3>().norm();
    if (distance <= 0.04) continue;
    // Hands clear the bench and what lies on it; up to a shelf or down from it they first clear the edge.
    way.arc.z() = std::min(0.03 + 0.14 * distance, 0.11) + 0.5 * std::abs(goals[side].higher_m - hands_[side].goal.higher_m);
    const double fine = std::clamp((0.08 - goals[side].width_m) / 0.06, 0.0, 1.0);
    way.early = kEarlyWide + fine * (kEarlyFine - kEarlyWide);
  }
  ClearTheWay(&sweep);
  return sweep;
}

}  // namespace dryrig
