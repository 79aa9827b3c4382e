#include "sim/stager.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

using Reach = MinJerkTrack<6>::Value;
using Torso = MinJerkTrack<3>::Value;
using Tilt = MinJerkTrack<1>::Value;

// Gaze is on a target about this long before the hand gets there (Land, Mennie & Rusted 1999: 0.56 s).
constexpr double kGazeLead_s = 0.55;
constexpr double kClosing_s = 0.24, kOpening_s = 0.22;
constexpr double kRestLean = 0.26;  // what a person leans to rest the hands, at most

Reach ToReach(const HandSolution& s) {
  Reach r;
  r << s.wrist_Y, s.angles.roll, s.angles.flex, s.angles.deviate;
  return r;
}

}  // namespace

Stager::Stager(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed,
               Script* script)
    : lesson_(lesson),
      bench_(bench),
      person_(person),
      build_(build),
      script_(script),
      timing_(seed, "performance timing"),
      paths_(seed, "performance paths"),
      pointing_(seed, "performance pointing"),
      pace_(person.pace),
      least_lean_(person.seated ? 0.06 : 0.05),
      top_z_(bench.height_m) {
  for (const Prop& prop : lesson.props) {
    PropState state;
    const Shape& shape = prop.shape;
    switch (shape.kind) {
      case ShapeKind::kBox:
        state.height = shape.half_m.z();
        break;
      case ShapeKind::kCapsule:
        state.height = shape.half_length_m + shape.radius_m;
        break;
      case ShapeKind::kCylinder:
        state.height = shape.half_length_m;
        break;
      default:
        state.height = shape.BoundingRadius();
        break;
    }
    state.first = {{prop.at_m.x(), prop.at_m.y(), top_z_ + state.height}, prop.yaw_rad};
    state.rest = state.first;
    props_.push_back(state);
    script_->props.push_back({{state.first}, {}});
  }
  for (const Side side : {kLeft, kRight})
    rest_at_[side] = FreeRest(side) + Vector2d(0.008 * paths_.Normal(), 0.006 * paths_.Normal());
  for (HandScript& hand : script_->hands) hand.swivel = std::clamp(0.05 * paths_.Normal(), -0.12, 0.12);

  // Tall people at low benches rest their hands in the air rather than stoop.
  const std::array<double, 2> swivel{script_->hands[0].swivel, script_->hands[1].swivel};
  BodySolution rest;
  for (; rest_lift_ < 0.6; rest_lift_ += 0.02) {
    rest = SolveBody(build_, {RestGoal(kLeft), RestGoal(kRight)}, swivel, top_z_, least_lean_);
    if (rest.reached && rest.lean <= kRestLean) break;
  }
  script_->torso = MinJerkTrack<3>(Torso(0, rest.lean, rest.twist));
  for (const Side side : {kLeft, kRight}) {
    hands_[side].goal = RestGoal(side);
    hands_[side].solved = rest.hands[side];
    script_->hands[side].reach = MinJerkTrack<6>(ToReach(rest.hands[side]));
    script_->hands[side].fingers = MinJerkTrack<kNumFingerAngles>(hands_[side].goal.fingers);
  }
  const TrunkPose trunk = PoseTrunk(build_, {.lean = rest.lean});
  const HeadPose head = PoseHead(build_, trunk, trunk.neck + Vector3d(0, 2, 0));
  crew_W_ = {0, bench.depth_m + 0.4, head.eyes.z()};
  script_->gaze_W = script_->head_W = MinJerkTrack<3>(crew_W_);
}

void Stager::SetContext(const Beat* beat, int number, const std::string& what) {
  beat_ = beat;
  beat_number_ = number;
  what_ = what;
}

int Stager::FindProp(const std::string& name) const {
  std::vector<std::string> names;
  for (size_t i = 0; i < lesson_.props.size(); ++i) {
    if (lesson_.props[i].name == name) return static_cast<int>(i);
    names.push_back(lesson_.props[i].name);
  }
  throw InputError(beat_->pos,
                   fmt::format("beat {} ({}): the lesson has no prop \"{}\"{}", beat_number_, what_, name, Suggest(name, names)));
}

BodySolution Stager::SolveOrThrow(const std::array<HandGoal, 2>& goals) const {
  const std::array<double, 2> swivel{script_->hands[0].swivel, script_->hands[1].swivel};
  const BodySolution body = SolveBody(build_, goals, swivel, top_z_, least_lean_);
  if (!body.reached) {
    const Vector3d at = ToWorld(goals[static_cast<size_t>(body.worst_hand)].point_Y);
    throw InputError(
        beat_ ? beat_->pos : SourcePos{},
        fmt::format(
            "beat {} ({}): {}'s {} hand cannot get to ({:.2f}, {:.2f}) on bench \"{}\": {:.3f} m from the shoulder with the "
            "torso leant {:.0f}°, the arm reaches {:.3f} m; move the prop nearer or choose a larger person",
            beat_number_, what_, person_.name, body.worst_hand == kRight ? "right" : "left", at.x(), at.y(), bench_.name,
            body.need_m, kMostLean * 180 / std::numbers::pi, body.have_m));
  }
  return body;
}

double Stager::Move(double t_s, const std::array<HandGoal, 2>& goals, const std::optional<Look>& look) {
  const BodySolution body = SolveOrThrow(goals);
  const Torso torso_from = script_->torso.last(), torso_to(turn_, body.lean, body.twist);

  double time = 0;
  std::array<double, 2> distance;
  for (const Side side : {kLeft, kRight}) {
    const Reach step = ToReach(body.hands[side]) - script_->hands[side].reach.last();
    distance[side] = step.head<3>().norm();
    const double effort = distance[side] + 0.06 * step.tail<3>().norm();  // turning the hand takes time too
    if (effort > 0.004) time = std::max(time, ReachTime_s(effort, goals[side].width_m));
  }
  const Torso torso_step = torso_to - torso_from;
  if (std::abs(torso_step[0]) > 1e-3) time = std::max(time, 0.6 + std::abs(torso_step[0]) / 0.9);
  if (torso_step.tail<2>().norm() > 0.02) time = std::max(time, 0.5 + torso_step.tail<2>().norm() / 0.7);
  time = std::max(0.3, time) * Vary(0.07) / pace_;
  const double end = t_s + time;

  script_->torso.MoveTo(t_s, end, torso_to);
  for (const Side side : {kLeft, kRight}) {
    HandState& hand = hands_[side];
    HandScript& script = script_->hands[side];
    Reach arc = Reach::Zero();
    if (distance[side] > 0.04) {
      // Hands clear the bench and what lies on it, and never take the same way twice.
      arc.z() = std::min(0.03 + 0.14 * distance[side], 0.11) * Vary(0.15);
      arc.x() = 0.05 * distance[side] * std::clamp(paths_.Normal(), -2.0, 2.0);
    }
    script.reach.MoveTo(t_s, end, ToReach(body.hands[side]), arc);
    const FingerPose& fingers = hand.preshape ? *hand.preshape : goals[side].fingers;
    if ((fingers - script.fingers.last()).norm() > 1e-3) script.fingers.MoveTo(t_s + 0.15 * time, t_s + 0.9 * time, fingers);
    hand.preshape.reset();
    if (hand.held >= 0) {
      MinJerkTrack<1>& tilt = CarryOf(hand.held).tilt;
      if (std::abs(tilt.last()[0] - hand.tilt) > 1e-6) tilt.MoveTo(t_s, end, Tilt(hand.tilt));
    }
    hand.goal = goals[side];
    hand.solved = body.hands[side];
  }
  if (look) LookBy(t_s, look->leads_hand ? end - kGazeLead_s * Vary(0.15) : t_s + 0.3, look->p_W);
  return end;
}

void Stager::LookBy(double from_s, double arrive_s, const Vector3d& p_W) {
  MinJerkTrack<3>& gaze = script_->gaze_W;
  MinJerkTrack<3>& head = script_->head_W;
  const double far = (p_W - gaze.last()).norm();
  if (far < 0.005) return;
  // An eye-and-head shift; it may begin while the act before is ending (Land et al. 1999: 0.61 s before its end).
  const double gaze_s = 0.22 + 0.08 * std::min(far, 2.0);
  const double start = std::max({gaze.end_s(), from_s - 0.4, arrive_s - gaze_s});
  gaze.MoveTo(start, start + gaze_s, p_W);
  const double head_start = std::max(start + 0.03, head.end_s());
  head.MoveTo(head_start, head_start + (0.45 + 0.15 * std::min(far, 2.0)) * Vary(0.08) / pace_, p_W);
}

double Stager::LookAt(double t_s, const Look& look) {
  LookBy(t_s, t_s + 0.3, look.p_W);
  return std::max(t_s, script_->head_W.end_s());
}

double Stager::Take(double t_s, Side side, int prop, const std::optional<HandGoal>& other) {
  HandState& hand = hands_[side];
  if (hand.held == prop) return t_s;
  if (hand.held >= 0) t_s = PutDown(t_s, side, {});
  const Grip grip = GripFor(prop, side);
  std::array<HandGoal, 2> goals;
  const Side far_side = side == kRight ? kLeft : kRight;
  goals[side] = TouchGoal(side, prop);
  goals[far_side] = other ? *other : RestGoal(far_side);
  hand.preshape = PinchingFingers(std::min(grip.gap_m + 0.045, 0.11), build_.hand);
  t_s = Move(t_s, goals, Look{PropInWorld(prop), true});

  PropState& state = props_[static_cast<size_t>(prop)];
  PropCarry carry;
  carry.side = side;
  carry.grab_s = t_s;
  carry.held_s = t_s + kClosing_s / pace_;
  carry.yaw_Y = state.rest.yaw_W - turn_;
  carry.p_HG = hand.goal.p_H;
  carry.p_PG = HeldRotation(carry, 0).transpose() * (hand.solved.point_Y - ToYaw(state.rest.p_W));
  script_->props[static_cast<size_t>(prop)].carries.push_back(carry);
  script_->hands[side].fingers.MoveTo(std::max(t_s, script_->hands[side].fingers.end_s()), carry.held_s, hand.goal.fingers);
  state.carrier = side;
  hand.held = prop;
  hand.tilt = 0;
  return carry.held_s;
}

double Stager::PutDown(double t_s, Side side, const std::optional<Vector2d>& at_m, const std::optional<HandGoal>& other) {
  HandState& hand = hands_[side];
  if (hand.held < 0) return t_s;
  const int prop = hand.held;
  PropState& state = props_[static_cast<size_t>(prop)];
  PropRest place = state.first;
  if (at_m) place.p_W.head<2>() = *at_m;
  std::array<HandGoal, 2> goals{hands_[kLeft].goal, hands_[kRight].goal};
  if (other) goals[side == kRight ? kLeft : kRight] = *other;
  PropCarry& carry = CarryOf(prop);
  HandGoal& goal = goals[side];
  goal = TouchGoal(side, prop);
  goal.fingers = hand.goal.fingers;
  goal.p_H = carry.p_HG;
  goal.point_Y = ToYaw(place.p_W) + HeldRotation(carry, 0) * carry.p_PG;
  hand.tilt = 0;
  t_s = Move(t_s, goals, Look{place.p_W, true});

  place.yaw_W = turn_ + carry.yaw_Y;
  carry.let_s = t_s;
  carry.free_s = t_s + 0.5 * kOpening_s / pace_;
  const double end = t_s + kOpening_s / pace_;
  script_->props[static_cast<size_t>(prop)].rests.push_back(place);
  hand.goal.fingers = PinchingFingers(std::min(GripFor(prop, side).gap_m + 0.04, 0.11), build_.hand);
  script_->hands[side].fingers.MoveTo(std::max(carry.free_s, script_->hands[side].fingers.end_s()), end + 0.02,
                                      hand.goal.fingers);
  state.rest = place;
  state.carrier = -1;
  hand.held = -1;
  return end + 0.02;
}

}  // namespace dryrig
