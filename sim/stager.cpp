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

using Set = MinJerkTrack<2>::Value;

// Gaze is on a target about this long before the hand gets there (Land, Mennie & Rusted 1999: 0.56 s).
constexpr double kGazeLead_s = 0.55;
constexpr double kClosing_s = 0.24, kOpening_s = 0.22;
constexpr double kRestLean = 0.26;   // what a person leans to rest the hands, at most
constexpr double kBenchTurn = 0.35;  // turned farther than this a person turns back before acting on the bench
// The hand opens on the way and closes from about three quarters of it on, where its slow phase begins (Jeannerod 1984).
constexpr double kOpenBy = 0.70, kCloseFrom = 0.75;

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
      fidgeting_(seed, "performance fidget"),
      pace_(person.pace),
      least_lean_(person.seated ? 0.06 : 0.05),
      top_z_(bench.height_m) {
  for (const Prop& prop : lesson.props) {
    PropState state;
    state.height = prop.shape.kind == ShapeKind::kHull ? prop.shape.BoundingRadius() : prop.shape.Below();
    state.first = {{prop.at_m.x(), prop.at_m.y(), TopHeight_m(bench, prop.on) + state.height}, prop.yaw_rad};
    state.first_on = state.on = prop.on;
    state.rest = state.first;
    props_.push_back(state);
    script_->props.push_back({{state.first}, {}});
  }
  for (const Side side : {kLeft, kRight})
    rest_at_[side] = FreeRest(side) + Vector2d(0.008 * paths_.Normal(), 0.006 * paths_.Normal());
  for (double& swivel : swivel_) swivel = std::clamp(0.05 * paths_.Normal(), -0.12, 0.12);
  still_W_.push_back(MakeSolid(BenchTop(bench).shape, BenchTop(bench).X_LS));
  for (const Body& shelf : bench.shelves) still_W_.push_back(MakeSolid(shelf.shape, shelf.X_LS));

  // Tall people at low benches rest their hands in the air rather than stoop.
  const Surroundings around{still_W_};
  BodySolution rest;
  for (; rest_lift_ < 0.6; rest_lift_ += 0.02) {
    rest = SolveBody(build_, {RestGoal(kLeft), RestGoal(kRight)}, swivel_, top_z_, least_lean_, kMostLean, &around);
    if (rest.reached && rest.lean <= kRestLean) break;
  }
  script_->torso = MinJerkTrack<3>(Torso(0, rest.lean, rest.twist));
  for (const Side side : {kLeft, kRight}) {
    hands_[side].goal = RestGoal(side);
    hands_[side].solved = rest.hands[side];
    script_->hands[side].reach = MinJerkTrack<7>(ToReach(rest.hands[side]));
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
  const Surroundings around{still_W_, turn_};
  const BodySolution body = SolveBody(build_, goals, swivel_, top_z_, least_lean_, kMostLean, &around);
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

double Stager::MoveStraight(double t_s, const std::array<HandGoal, 2>& goals, const BodySolution& body,
                            const std::optional<Look>& look, const Sweep& sweep) {
  const Torso torso_from = script_->torso.last(), torso_to(turn_, body.lean, body.twist);

  const Torso torso_step = torso_to - torso_from;
  double time = 0;
  for (const Side side : {kLeft, kRight}) {
    const Reach step = sweep.hands[side].to - sweep.hands[side].from;
    // Turning the hand takes time too, and so does a way round.
    const double way_m = step.head<3>().norm() + 0.06 * step.segment<3>(3).norm() + 2 * sweep.hands[side].detour_m;
    if (way_m > 0.004) time = std::max(time, ReachTime_s(way_m, goals[side].width_m));
  }
  if (std::abs(torso_step[0]) > 1e-3) time = std::max(time, 0.6 + std::abs(torso_step[0]) / 0.9);
  if (torso_step.tail<2>().norm() > 0.02) time = std::max(time, 0.5 + torso_step.tail<2>().norm() / 0.7);
  // However quick a person is, no hand outdoes the 2 m/s that ISO 13855 reckons with; the body's own motion adds a little.
  constexpr double kMostSpeed = 1.75;
  time = std::max(std::max(0.3, time) * Vary(0.07) / pace_, PeakSpeed(sweep) / kMostSpeed);
  const double end = t_s + time;
  last_move_s_ = time;

  script_->torso.MoveTo(t_s, end, torso_to);
  const Sweep varied = VariedWay(sweep);
  for (const Side side : {kLeft, kRight}) {
    HandState& hand = hands_[side];
    HandScript& script = script_->hands[side];
    const HandSweep& way = varied.hands[side];
    script.reach.MoveTo(t_s + way.start * time, t_s + way.end * time, way.to, way.arc, way.early);
    const bool opens = hand.opens_for_m.has_value();
    const FingerPose fingers =
        opens ? OpenedFingers(side, *hand.opens_for_m, goals[side], body.hands[side]) : goals[side].fingers;
    const double by = opens ? kOpenBy : 0.9;
    if ((fingers - script.fingers.last()).norm() > 1e-3) {
      script.fingers.MoveTo(std::max(t_s + 0.15 * time, script.fingers.end_s()), t_s + by * time, fingers);
    }
    hand.opens_for_m.reset();
    if (hand.held >= 0) {
      MinJerkTrack<2>& set = CarryOf(hand.held).set;
      const Set wish(hand.tilt, hand.yaw);
      if ((set.last() - wish).cwiseAbs().maxCoeff() > 1e-6) set.MoveTo(t_s, end, wish);
    }
    hand.goal = goals[side];
    hand.solved = body.hands[side];
  }
  if (look) LookBy(t_s, look->leads_hand ? end - kGazeLead_s * Vary(0.15) : t_s + 0.3, look->p_W);
  return end;
}

FingerPose Stager::OpenedFingers(Side side, double gap_m, const HandGoal& closed, const HandSolution& solved) const {
  const double floor = top_z_ + closed.higher_m;
  constexpr double kSkin_m = 0.0065;
  for (double more_m = 0.045; more_m > 0; more_m -= 0.01) {
    const FingerPose fingers = PinchingFingers(std::min(gap_m + more_m, 0.11), build_.hand);
    double lowest = 1e9;
    for (const Vector3d& p_H : HandLandmarks(side, fingers, build_.hand)) {
      lowest = std::min(lowest, solved.wrist_Y.z() + solved.R_YH.row(2).dot(p_H));
    }
    if (lowest > floor + kSkin_m) return fingers;
  }
  return closed.fingers;
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
  PropState& state = props_[static_cast<size_t>(prop)];
  FacePlace(state.rest.p_W, state.on, side);
  const Grip grip = GripFor(prop, side);
  std::array<HandGoal, 2> goals;
  const Side far_side = side == kRight ? kLeft : kRight;
  goals[side] = TouchGoal(side, prop);
  goals[far_side] = other ? *other : RestGoal(far_side);
  hand.opens_for_m = grip.gap_m;
  t_s = Move(t_s, goals, Look{PropInWorld(prop), true});

  PropCarry carry;
  carry.side = side;
  carry.grab_s = t_s;
  carry.held_s = t_s + kClosing_s / pace_;
  hand.tilt = 0;
  hand.yaw = state.rest.yaw_W - turn_;
  carry.set = MinJerkTrack<2>(Set(hand.tilt, hand.yaw));
  carry.p_HG = hand.goal.p_H;
  carry.p_PG = HeldRotation(hand, 0).transpose() * (hand.solved.point_Y - ToYaw(state.rest.p_W));
  script_->props[static_cast<size_t>(prop)].carries.push_back(carry);
  MinJerkTrack<kNumFingerAngles>& fingers = script_->hands[side].fingers;
  fingers.MoveTo(std::max(t_s - (1 - kCloseFrom) * last_move_s_, fingers.end_s()), carry.held_s, hand.goal.fingers);
  state.carrier = side;
  hand.held = prop;
  return carry.held_s;
}

double Stager::PutDown(double t_s, Side side, const std::optional<Place>& to, const std::optional<HandGoal>& other) {
  HandState& hand = hands_[side];
  if (hand.held < 0) return t_s;
  const int prop = hand.held;
  PropState& state = props_[static_cast<size_t>(prop)];
  PropRest place = state.first;
  const std::string on = to ? to->on : state.first_on;
  if (to) place.p_W << to->at_m, TopHeight_m(bench_, on) + state.height;
  FacePlace(place.p_W, on, side);
  std::array<HandGoal, 2> goals{hands_[kLeft].goal, hands_[kRight].goal};
  if (other) goals[side == kRight ? kLeft : kRight] = *other;
  PropCarry& carry = CarryOf(prop);
  hand.tilt = 0;
  hand.yaw = std::remainder(place.yaw_W - turn_ - hand.yaw, 2 * std::numbers::pi) + hand.yaw;
  HandGoal& goal = goals[side];
  goal = TouchGoal(side, prop);
  goal.fingers = hand.goal.fingers;
  goal.p_H = carry.p_HG;
  goal.point_Y = ToYaw(place.p_W) + HeldRotation(hand, 0) * carry.p_PG;
  goal.higher_m = place.p_W.z() - state.height - top_z_;
  goal.pitch = GripPitch(goal.point_Y.z() - top_z_ - goal.higher_m, goal.higher_m);
  t_s = Move(t_s, goals, Look{place.p_W, true});

  carry.let_s = t_s;
  carry.free_s = t_s + 0.5 * kOpening_s / pace_;
  const double end = t_s + kOpening_s / pace_;
  script_->props[static_cast<size_t>(prop)].rests.push_back(place);
  hand.goal.fingers = OpenedFingers(side, GripFor(prop, side).gap_m, hand.goal, hand.solved);
  script_->hands[side].fingers.MoveTo(std::max(carry.free_s, script_->hands[side].fingers.end_s()), end + 0.02,
                                      hand.goal.fingers);
  state.rest = place;
  state.on = on;
  state.carrier = -1;
  hand.held = -1;
  return end + 0.02;
}

double Stager::Pass(double t_s, Side from) {
  const Side to = from == kRight ? kLeft : kRight;
  HandState& giver = hands_[from];
  HandState& taker = hands_[to];
  const int prop = giver.held;
  const PropCarry given = CarryOf(prop);
  const Grip grip = SecondGrip(prop, to);
  giver.tilt = 0;
  std::array<HandGoal, 2> goals;
  goals[from] = PassGoal(prop, given.p_PG, given.p_HG, giver.goal.fingers);
  const FingerPose closed = PinchingFingers(grip.gap_m, build_.hand);
  goals[to] = PassGoal(prop, grip.p_PG, GripPoint(to, closed, build_.hand), closed);
  taker.opens_for_m = grip.gap_m;
  t_s = Move(t_s, goals, Look{ToWorld(goals[from].point_Y), true});

  PropCarry carry;
  carry.side = to;
  carry.passed = true;
  carry.grab_s = t_s;
  carry.held_s = t_s + kClosing_s / pace_;
  taker.tilt = 0;
  taker.yaw = giver.yaw;
  carry.set = MinJerkTrack<2>(Set(taker.tilt, taker.yaw));
  carry.p_HG = taker.goal.p_H;
  const Vector3d centre_Y = giver.solved.point_Y - HeldRotation(giver, 0) * given.p_PG;
  carry.p_PG = HeldRotation(taker, 0).transpose() * (taker.solved.point_Y - centre_Y);
  PropScript& script = script_->props[static_cast<size_t>(prop)];
  script.carries.push_back(carry);
  script.rests.push_back(props_[static_cast<size_t>(prop)].rest);
  MinJerkTrack<kNumFingerAngles>& closing = script_->hands[to].fingers;
  closing.MoveTo(std::max(t_s - (1 - kCloseFrom) * last_move_s_, closing.end_s()), carry.held_s, closed);
  giver.goal.fingers = PinchingFingers(std::min(grip.gap_m + 0.04, 0.11), build_.hand);
  const double end = carry.held_s + kOpening_s / pace_;
  script_->hands[from].fingers.MoveTo(std::max(carry.held_s, script_->hands[from].fingers.end_s()), end, giver.goal.fingers);
  props_[static_cast<size_t>(prop)].carrier = to;
  giver.held = -1;
  taker.held = prop;
  // The giver draws back, so that neither is in the other's way.
  goals[from].fingers = giver.goal.fingers;
  goals[from].point_Y = giver.solved.point_Y + Vector3d(from == kRight ? 0.10 : -0.10, -0.02, -0.04);
  goals[to] = taker.goal;
  return Move(end, goals, {});
}

double Stager::MoveBack(double t_s, double back_m) {
  const double far = std::abs(back_m - script_->back.last()[0]);
  if (far < 1e-6) return t_s;
  // Slow walking or rolling, 0.5 m/s in the mean (common practice for a step or two).
  const double end = t_s + (0.5 + far / 0.5) * Vary(0.07) / pace_;
  script_->back.MoveTo(t_s, end, MinJerkTrack<1>::Value(back_m));
  return end;
}

void Stager::FacePlace(const Vector3d& p_W, const std::string& on, Side side) {
  if (on.empty()) {
    if (std::abs(turn_) > kBenchTurn) SetTurn(0);
    return;
  }
  // The shoulders take most of the way round and the arm the rest; the arm of the other side needs the chest past the shelf.
  constexpr double kSameSide = -0.15, kOtherSide = 0.25, kMostTurn = 1.05;
  const Vector3d line = p_W - build_.p_WPelvis;
  const double bearing = std::atan2(-line.x(), line.y());
  const bool same = (bearing < 0) == (side == kRight);
  turn_ = std::copysign(std::clamp(std::abs(bearing) + (same ? kSameSide : kOtherSide), 0.0, kMostTurn), bearing);
  at_shelf_ = true;
}

void Stager::Face(int prop, Side side) {
  const PropState* state = prop < 0 ? nullptr : &props_[static_cast<size_t>(prop)];
  if (state && state->carrier < 0) return FacePlace(state->rest.p_W, state->on, side);
  FacePlace(Vector3d::Zero(), "", side);
}

void Stager::LeaveShelf() {
  if (at_shelf_) SetTurn(0);
}

void Stager::Fidget(double from_s, double to_s) {
  const double fidget = person_.fidget;
  if (fidget <= 0) return;
  next_shift_s_ = std::max(next_shift_s_, from_s + fidgeting_.Uniform(0.1, 0.8));
  while (true) {
    const double length = fidgeting_.Uniform(1.4, 2.6);
    if (next_shift_s_ + length > to_s) break;
    // Up to 2 cm of the hips, under shoulders that stay, so that the hands do: nobody loses what is held by shifting weight.
    const double aside_m = 0.02 * fidget * fidgeting_.Uniform(-1, 1);
    script_->fidgets.push_back({next_shift_s_, next_shift_s_ + length, aside_m, 0.008 * fidget * fidgeting_.Uniform(-1, 1)});
    next_shift_s_ += length + fidgeting_.Uniform(2, 8) / fidget;
  }
  next_glance_s_ = std::max(next_glance_s_, from_s + fidgeting_.Uniform(0.3, 1.2));
  while (true) {
    const double start = std::max({next_glance_s_, script_->head_W.end_s(), script_->gaze_W.end_s()}) + 0.05;
    const double hold = fidgeting_.Uniform(0.3, 0.8);
    constexpr double kThereAndBack_s = 2.2;  // two shifts of the head, at the slowest
    if (start + hold + kThereAndBack_s / pace_ > to_s) break;
    const Vector3d before = script_->gaze_W.last();
    Vector3d aside = TorsoPoint(fidgeting_.Uniform(-0.9, 0.9));
    aside.z() += fidgeting_.Uniform(-0.7, 0.05);
    const double there = LookAt(start, {aside});
    LookAt(there + hold, {before});
    next_glance_s_ = script_->head_W.end_s() + fidgeting_.Uniform(2, 7) / fidget;
  }
}

}  // namespace dryrig
