// The goals of Stager: where a hand goes for each kind of act.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/stager.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Vector3d;

namespace {

constexpr double kWidePalm_m = 0.045;   // props broader than this in both directions are held at an edge
constexpr double kFingertip_m = 0.007;  // middle of the last bone over what it touches

double Mirror(Side side) {
  return side == kRight ? 1 : -1;
}

Matrix3d TurnZ(double a) {
  return Eigen::AngleAxisd(a, Vector3d::UnitZ()).toRotationMatrix();
}
Matrix3d TurnX(double a) {
  return Eigen::AngleAxisd(a, Vector3d::UnitX()).toRotationMatrix();
}

/// Half breadths of a shape seen from above.
Eigen::Vector2d HalfBreadths(const Shape& shape) {
  if (shape.kind == ShapeKind::kBox) return shape.half_m.head<2>();
  const double r = shape.kind == ShapeKind::kHull ? shape.BoundingRadius() : shape.radius_m;
  return {r, r};
}

}  // namespace

Matrix3d Stager::HeldRotation(const HandState& hand, double tilt) const {
  return TurnX(tilt) * TurnZ(hand.yaw);
}

double Stager::Higher_m(int prop) const {
  const PropState& state = props_[static_cast<size_t>(prop)];
  return state.carrier < 0 ? state.rest.p_W.z() - state.height - top_z_ : 0;
}

Vector3d Stager::PropInYaw(int prop) const {
  const PropState& state = props_[static_cast<size_t>(prop)];
  if (state.carrier < 0) return ToYaw(state.rest.p_W);
  const HandState& hand = hands_[static_cast<size_t>(state.carrier)];
  const PropCarry& carry = CarryOf(prop);
  return hand.solved.point_Y - HeldRotation(hand, hand.tilt) * carry.p_PG;
}

Vector3d Stager::PropInWorld(int prop) const {
  return ToWorld(PropInYaw(prop));
}

Vector3d Stager::TorsoPoint(double aside) const {
  return YawToWorld(build_, turn_ + aside, WorldToYaw(build_, 0, crew_W_));
}

bool Stager::IsThin(int prop) const {
  const Shape& shape = lesson_.props[static_cast<size_t>(prop)].shape;
  const double narrow = HalfBreadths(shape).minCoeff(), height = props_[static_cast<size_t>(prop)].height;
  return height < 0.012 && narrow > 0.012 && height < 0.5 * narrow;
}

Stager::Grip Stager::GripFor(int prop, Side side) const {
  const PropState& state = props_[static_cast<size_t>(prop)];
  const Shape& shape = lesson_.props[static_cast<size_t>(prop)].shape;
  const Eigen::Vector2d half = HalfBreadths(shape);
  // From above, a finger's breadth below the top; a thin thing at mid-height.
  Grip grip{{0, 0, state.height > 0.015 ? state.height - 0.015 : 0}, 2 * half.minCoeff() + 2 * kFingertip_m};
  if (half.minCoeff() > kWidePalm_m || IsThin(prop)) {
    const double yaw = state.carrier < 0 ? state.rest.yaw_W - turn_ : hands_[static_cast<size_t>(state.carrier)].yaw;
    double best = -1e9;
    for (int i = 0; i < 4; ++i) {
      const double reach = i % 2 == 0 ? half.x() : half.y();
      const Vector3d edge = TurnZ(0.5 * std::numbers::pi * i) * Vector3d(std::max(reach - 0.012, 0.0), 0, 0);
      const Vector3d edge_Y = TurnZ(yaw) * edge / reach;
      // At the hand's own side, or, on a shelf, at the near one.
      const double outwards = state.carrier < 0 && !state.on.empty() ? -edge_Y.y() : Mirror(side) * edge_Y.x();
      if (outwards > best + 1e-9) {
        best = outwards;
        grip.p_PG = {edge.x(), edge.y(), grip.p_PG.z()};
      }
    }
    grip.gap_m = 2 * kFingertip_m + std::min(2 * state.height, 0.03);
  }
  // What lies flat is pinched with the fingers' ends.
  if (state.height < 0.008) grip.gap_m = std::min(grip.gap_m, 0.024);
  grip.gap_m = std::min(grip.gap_m, 0.10);
  return grip;
}

Eigen::Vector2d Stager::FreeRest(Side side) const {
  // The first of some places near the front edge where the hand lies on nothing.
  constexpr double kHalfHand_m = 0.045;
  const double m = Mirror(side);
  const Eigen::Vector2d usual(m * 0.105 * build_.stature, 0.19);
  for (const double out_m : {0.0, 0.03, -0.03, 0.06, 0.09, -0.05, 0.12, 0.15}) {
    for (const double back_m : {0.0, 0.03, 0.06}) {
      const Eigen::Vector2d tip = usual + Eigen::Vector2d(m * out_m, -back_m);
      bool free = true;
      for (size_t i = 0; i < props_.size() && free; ++i) {
        const Eigen::Vector2d half = HalfBreadths(lesson_.props[i].shape) + Eigen::Vector2d::Constant(kHalfHand_m);
        for (const double along : {0.0, 0.05, 0.10}) {
          const Eigen::Vector2d p =
              Eigen::Rotation2Dd(-props_[i].first.yaw_W) * (tip - Eigen::Vector2d(0, along) - props_[i].first.p_W.head<2>());
          free = free && (p.cwiseAbs().array() > half.array()).any();
        }
      }
      if (free) return tip;
    }
  }
  return usual;
}

HandGoal Stager::RestGoal(Side side) const {
  const HandState& hand = hands_[side];
  const Eigen::Vector2d& at = rest_at_[side];
  // Turned away from the bench the hands stay before the body, off the top.
  const double lift = rest_lift_ + (std::abs(turn_) > 0.05 ? 0.06 : 0);
  HandGoal goal;
  goal.loose = true;
  goal.width_m = 0.10;
  const double y = std::abs(turn_) > 0.05 ? std::min(at.y(), 0.10) : at.y();
  if (hand.held >= 0) {
    const PropCarry& carry = CarryOf(hand.held);
    goal.fingers = hand.goal.fingers;
    goal.p_H = carry.p_HG;
    goal.pitch = 0.5;
    const double under = props_[static_cast<size_t>(hand.held)].height + (HeldRotation(hands_[side], 0) * carry.p_PG).z();
    goal.point_Y = {at.x(), y, top_z_ + lift + 0.004 + under};
    return goal;
  }
  goal.fingers = RestingFingers();
  goal.p_H = HandLandmarks(side, goal.fingers, build_.hand)[12];
  goal.pitch = 0.15;
  goal.point_Y = {at.x(), y, top_z_ + lift + 0.009};
  return goal;
}

double Stager::GripPitch(double over_m, double higher_m) const {
  // From above on the bench, steeply where the fingers must get close to it; what is high is gripped from the side, as the wrist
  // has no more flexion to give.
  constexpr double kFromAbove = 0.6, kSteep = 1.0, kLow_m = 0.015, kHigh_m = 0.12, kPerMetre = 4;
  if (over_m < kLow_m) return kSteep;
  return std::clamp(kFromAbove - kPerMetre * (over_m + higher_m - kHigh_m), 0.0, kFromAbove);
}

HandGoal Stager::TouchGoal(Side side, int prop) const {
  const Grip grip = GripFor(prop, side);
  const PropState& state = props_[static_cast<size_t>(prop)];
  HandGoal goal;
  goal.fingers = PinchingFingers(grip.gap_m, build_.hand);
  goal.p_H = GripPoint(side, goal.fingers, build_.hand);
  goal.point_Y = PropInYaw(prop) + TurnZ(state.rest.yaw_W - turn_) * grip.p_PG;
  goal.pitch = GripPitch(goal.point_Y.z() - top_z_ - Higher_m(prop), Higher_m(prop));
  goal.width_m = std::clamp(2 * HalfBreadths(lesson_.props[static_cast<size_t>(prop)].shape).minCoeff(), 0.02, 0.08);
  goal.higher_m = Higher_m(prop);
  return goal;
}

HandGoal Stager::HoldUpGoal(Side side, int prop) const {
  const PropCarry& carry = CarryOf(prop);
  HandGoal goal;
  goal.fingers = hands_[side].goal.fingers;
  goal.p_H = carry.p_HG;
  goal.hold = HandHold::kPalmIn;
  goal.over_bench = false;
  goal.width_m = 0.06;
  const TrunkPose trunk = PoseTrunk(build_, {.lean = least_lean_});
  const Vector3d chest(0, trunk.neck.y(), trunk.shoulder[kRight].z());
  // Upper chest, a third of a metre ahead, a little to the hand's side: below the chin, so that the face stays free.
  const double down = IsThin(prop) ? 0.04 : 0.01;
  const Vector3d centre = chest + Vector3d(0.04 * Mirror(side), 0.17 * build_.stature + 0.03, -down * build_.stature);
  goal.point_Y = centre + HeldRotation(hands_[side], IsThin(prop) ? ShowTilt() : 0) * carry.p_PG;
  return goal;
}

HandGoal Stager::WorkGoal(Side side, int prop, bool aside) const {
  HandGoal goal;
  goal.pitch = 0.65;
  goal.width_m = 0.04;
  const double m = Mirror(side);
  Vector3d at(0, 0.2, top_z_);
  double breadth = 0.06;
  if (prop >= 0) {
    at = PropInYaw(prop) + Vector3d(0, 0, props_[static_cast<size_t>(prop)].height);
    breadth = HalfBreadths(lesson_.props[static_cast<size_t>(prop)].shape).minCoeff();
    goal.higher_m = Higher_m(prop);
    const int holder = props_[static_cast<size_t>(prop)].carrier;
    if (holder >= 0 && holder != side) {  // in the other hand: where that does not hold it
      const Vector3d free_P = SecondGrip(prop, side).p_PG;
      at = PropInYaw(prop) + HeldRotation(hands_[static_cast<size_t>(holder)], 0) * free_P + Vector3d(m * breadth, 0, 0);
    }
  }
  if (aside) at.x() += m * std::clamp(0.7 * breadth, 0.05, 0.11);
  const int tool = hands_[side].held;
  if (tool >= 0 && tool != prop) {
    const PropCarry& carry = CarryOf(tool);
    goal.fingers = hands_[side].goal.fingers;
    goal.p_H = carry.p_HG;
    // The tool's tip gets there, or the middle of its underside.
    const Vector3d under(0, 0, -props_[static_cast<size_t>(tool)].height);
    const Vector3d p_PX = lesson_.props[static_cast<size_t>(tool)].tip_m.value_or(under);
    goal.point_Y = at + HeldRotation(hands_[side], 0) * (carry.p_PG - p_PX) + Vector3d(0, 0, 0.002);
  } else {
    goal.fingers = PinchingFingers(0.022, build_.hand);
    goal.p_H = GripPoint(side, goal.fingers, build_.hand);
    goal.point_Y = at + Vector3d(0, 0, kFingertip_m);
  }
  return goal;
}

HandGoal Stager::SteadyGoal(Side side, int prop) const {
  HandGoal goal = WorkGoal(side, prop, false);
  const double m = Mirror(side);
  const double breadth = prop < 0 ? 0.08 : HalfBreadths(lesson_.props[static_cast<size_t>(prop)].shape).x();
  goal.fingers = FlatFingers();
  goal.p_H = HandLandmarks(side, goal.fingers, build_.hand)[12];
  goal.pitch = 0.3;
  goal.point_Y += Vector3d(m * std::clamp(0.75 * breadth, 0.075, 0.14), -0.015, 0);
  return goal;
}

HandGoal Stager::OverBenchGoal(Side side, int prop) const {
  const PropCarry& carry = CarryOf(prop);
  HandGoal goal;
  goal.fingers = hands_[side].goal.fingers;
  goal.p_H = carry.p_HG;
  goal.pitch = 0.5;
  const Vector3d centre(Mirror(side) * 0.03, 0.20, top_z_ + props_[static_cast<size_t>(prop)].height + 0.07);
  goal.point_Y = centre + HeldRotation(hands_[side], 0) * carry.p_PG;
  return goal;
}

HandGoal Stager::BeforeBodyGoal(Side side) const {
  HandGoal goal = RestGoal(side);
  goal.point_Y.y() = 0.08;
  goal.point_Y.z() = std::max(goal.point_Y.z() + 0.05, top_z_ + 0.08);
  return goal;
}

Stager::Grip Stager::SecondGrip(int prop, Side side) const {
  const PropState& state = props_[static_cast<size_t>(prop)];
  const HandState& giver = hands_[static_cast<size_t>(state.carrier)];
  const Shape& shape = lesson_.props[static_cast<size_t>(prop)].shape;
  const Eigen::Vector2d half = HalfBreadths(shape);
  Grip grip = GripFor(prop, side);
  if (half.minCoeff() > kWidePalm_m || IsThin(prop)) return grip;  // two edges are far enough from one another
  // Along the longest axis, as far from the giver's fingers as the thing is long, to the taker's side or away from the body.
  constexpr double kMost_m = 0.07, kEnd_m = 0.012;
  const Vector3d given = CarryOf(prop).p_PG;
  const Matrix3d R_YP = HeldRotation(giver, 0);
  const Vector3d sideways = (R_YP.transpose() * Vector3d(Mirror(side), 0.3, 0)).normalized();
  const int axis = half.x() >= half.y() ? 0 : 1;
  grip.p_PG = given;
  if (state.height > half.maxCoeff()) {
    grip.p_PG.z() = std::max(given.z() - kMost_m, std::min(kEnd_m - state.height, given.z()));
  } else {
    const double way = sideways[axis] < 0 ? -1 : 1, end = std::max(half[axis] - kEnd_m, 0.0);
    grip.p_PG[axis] = way * std::min(end, way * given[axis] + kMost_m);
  }
  grip.gap_m = std::min(2 * half.minCoeff() + 2 * kFingertip_m, 0.10);
  return grip;
}

HandGoal Stager::PassGoal(int prop, const Vector3d& p_PG, const Vector3d& p_H, const FingerPose& fingers) const {
  HandGoal goal;
  goal.fingers = fingers;
  goal.p_H = p_H;
  goal.hold = HandHold::kPalmIn;
  goal.over_bench = false;
  goal.width_m = 0.04;
  const TrunkPose trunk = PoseTrunk(build_, {.lean = least_lean_});
  // A hand's breadth below the place where things are held up, in the middle, clear of the bench.
  Vector3d centre(0, trunk.neck.y() + 0.17 * build_.stature + 0.01, trunk.shoulder[kRight].z() - 0.09 * build_.stature);
  centre.z() = std::max(centre.z(), top_z_ + 0.19 + props_[static_cast<size_t>(prop)].height);
  const HandState& giver = hands_[static_cast<size_t>(props_[static_cast<size_t>(prop)].carrier)];
  goal.point_Y = centre + HeldRotation(giver, 0) * p_PG;
  return goal;
}

void Stager::FitWork(Side side, WorkSpan* span) const {
  const HandState& hand = hands_[side];
  const auto& torso = script_->torso.last();
  const TrunkPose trunk = PoseTrunk(build_, {.lean = torso[1], .twist = torso[2]});
  const auto landmarks = HandLandmarks(side, hand.goal.fingers, build_.hand);
  FixTwist(*span, side, hand.solved.angles, hand.solved.R_YF, hand.goal.p_H);
  for (int round = 0; round < 10; ++round) {
    WorkSpan whole = *span;  // five cycles without the fades
    whole.start_s = 0, whole.end_s = 1e6, whole.fade_s = 1e-6;
    double stretch = 0, lowest = 1e9;
    for (int i = 1; i <= 40; ++i) {
      const WorkOffset offset = WorkAt(whole, i * 5 * 2 * std::numbers::pi / (40 * span->omega));
      WristAngles angles = hand.solved.angles;
      angles.roll += offset.roll;
      const ArmPose arm = PoseArm(build_, trunk, side, hand.solved.wrist_Y + offset.wrist_Y, angles, hand.solved.swivel);
      stretch = std::max(stretch, arm.stretch);
      for (const Vector3d& p_H : landmarks) lowest = std::min(lowest, arm.wrist.z() + arm.R_WH.row(2).dot(p_H));
    }
    const double sunk = hand.goal.over_bench ? top_z_ + hand.goal.higher_m + kFingertip_m - 0.001 - lowest : 0;
    const bool far = stretch > kFreeStretch - 0.008;
    if (sunk <= 0 && !far) break;
    // What twists leaves its work when it is lifted: it twists less.
    constexpr double kMostRise_m = 0.006;
    if (sunk > 0 && span->turn_rad > 0 && span->rise_m + sunk > kMostRise_m) {
      span->turn_rad *= 0.75;
      FixTwist(*span, side, hand.solved.angles, hand.solved.R_YF, hand.goal.p_H);
    } else if (sunk > 0) {
      span->rise_m += sunk + 0.0005;
    }
    if (far) span->size_m *= 0.8, span->turn_rad *= 0.8;
  }
}

HandGoal Stager::PointGoal(Side side, int prop, const HandGoal& other) {
  HandGoal goal;
  goal.hold = HandHold::kPointing;
  goal.width_m = 0.06;
  const Vector3d target = PropInYaw(prop);
  const TrunkPose trunk = PoseTrunk(build_, {.lean = script_->torso.last()[1]});
  Vector3d flat = trunk.shoulder[side] - target;
  flat.z() = 0;
  flat.normalize();
  // Pointing error: about 3° in all, half of its variance up and down, half sideways; sway and tremor add the rest.
  constexpr double kError = 2.7 * std::numbers::pi / 180 / std::numbers::sqrt2;
  const double error_side = kError * std::clamp(pointing_.Normal(), -2.5, 2.5);
  const double error_up = kError * std::clamp(pointing_.Normal(), -2.5, 2.5);
  const double nearest = pointing_.Uniform(0.12, 0.20) + HalfBreadths(lesson_.props[static_cast<size_t>(prop)].shape).minCoeff();

  // Near, from above and a little from the hand's side, as wrists allow; else from elsewhere, with the knuckle bent otherwise,
  // the hand turned, from farther off.
  constexpr double kPointingLean = 0.5;
  HandGoal best = goal;
  double least = 1e9;
  for (const double farther : {0.0, 0.07, 0.15, 0.3, 0.5, 0.8}) {
    const double standoff = nearest + farther;
    for (const double azimuth : {0.35, 0.7, 0.0, 1.05}) {
      const Vector3d from = TurnZ(Mirror(side) * azimuth) * flat;
      for (const double bend : {0.45, 0.8, 0.1}) {
        goal.aim_bend = bend;
        goal.fingers = PointingFingers(bend);
        goal.p_H = HandLandmarks(side, goal.fingers, build_.hand)[8];
        for (const auto& [elevation, roll] : {std::pair{0.75, 0.0}, {0.5, 0.0}, {1.0, 0.0}, {0.6, 0.7}}) {
          const Vector3d away = std::cos(elevation) * from + std::sin(elevation) * Vector3d::UnitZ();
          const Vector3d sideways = away.cross(Vector3d::UnitZ()).normalized();
          goal.point_Y = target + standoff * away;
          goal.aim_Y = -(away + std::tan(error_side) * sideways + std::tan(error_up) * sideways.cross(away)).normalized();
          goal.aim_roll = roll;
          std::array<HandGoal, 2> goals;
          goals[side] = goal;
          goals[side == kRight ? kLeft : kRight] = other;
          const BodySolution body = SolveBody(build_, goals, swivel_, top_z_, least_lean_, kPointingLean);
          if (!body.reached) continue;
          const Vector3d finger = body.hands[side].R_YH * Vector3d(0, std::cos(bend), -std::sin(bend));
          const double off = std::acos(std::clamp(finger.dot(goal.aim_Y), -1.0, 1.0));
          if (off + 0.3 * farther < least) {
            least = off + 0.3 * farther;
            best = goal;
          }
          if (off < 0.01) return goal;
        }
      }
    }
    if (least < 0.03) break;
  }
  return best;
}

}  // namespace dryrig
