// How each kind of beat is played.
#include <algorithm>
#include <cmath>

#include "sim/director.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

Side Other(Side side) {
  return side == kRight ? kLeft : kRight;
}

}  // namespace

Director::Played Director::PlayBeat(const Beat& beat, double t) {
  if (beat.kind != BeatKind::kGlance) stager_.LeaveShelf();
  switch (beat.kind) {
    case BeatKind::kAddress:
      return Address(beat, t);
    case BeatKind::kReach:
      return Reach(beat, t);
    case BeatKind::kWork:
      return Work(beat, t);
    case BeatKind::kPoint:
      return Point(beat, t);
    case BeatKind::kHoldUp:
      return HoldUp(beat, t);
    case BeatKind::kPutDown:
      return PutDown(beat, t);
    case BeatKind::kTurn:
      return Turn(beat, t);
    case BeatKind::kSay:
      return Say(beat, t);
    case BeatKind::kPause:
      return Pause(beat, t);
    case BeatKind::kGlance:
      return Glance(beat, t);
    case BeatKind::kPass:
      return Pass(beat, t);
    case BeatKind::kStepBack:
      return StepBack(beat, t);
  }
  return {};
}

Director::Played Director::Pause(const Beat& beat, double t) {
  const double ready = stager_.Move(Begin(t), Resting(), {});
  idle_ = true;
  return {ready, ready + beat.for_s};
}

Director::Played Director::Address(const Beat& beat, double t) {
  if (std::abs(stager_.turn()) > 0.7) stager_.SetTurn(0);
  const double arrived = stager_.Move(Begin(t), Resting(), Stager::Look{stager_.CrewPoint()});
  const double ready = std::max(arrived, out_->head_W.end_s());
  idle_ = true;
  return {ready, ready + beat.for_s};
}

Director::Played Director::Reach(const Beat& beat, double t) {
  const int prop = stager_.FindProp(beat.prop);
  Side side = SideOf(beat.hand);
  if (stager_.carrier(prop) >= 0) side = static_cast<Side>(stager_.carrier(prop));
  stager_.Face(prop, side);
  Played played;
  played.in_use[side] = true;
  if (beat.hand == HandChoice::kBoth) played.in_use = {true, true};
  t = Begin(t);
  std::optional<HandGoal> other;
  if (beat.hand == HandChoice::kBoth) other = stager_.SteadyGoal(Other(side), prop);
  if (beat.take) {
    played.ready_s = stager_.Take(t, side, prop, other);
  } else {
    if (stager_.held(side) >= 0 && stager_.held(side) != prop) t = stager_.PutDown(t, side, {});
    stager_.Face(prop, side);
    std::array<HandGoal, 2> goals = Resting();
    if (other) goals[Other(side)] = *other;
    if (stager_.held(side) != prop) goals[side] = stager_.TouchGoal(side, prop);
    played.ready_s = stager_.Move(t, goals, Stager::Look{stager_.PropInWorld(prop), true});
  }
  played.end_s = played.ready_s + stager_.timing().Uniform(0.2, 0.45) / stager_.pace();
  idle_ = false;
  return played;
}

Director::Played Director::Work(const Beat& beat, double t) {
  const int prop = beat.prop.empty() ? -1 : stager_.FindProp(beat.prop);
  stager_.Face(prop, SideOf(beat.hand));
  const int tool = beat.with.empty() ? -1 : stager_.FindProp(beat.with);
  Side side = SideOf(beat.hand);
  bool both = beat.hand == HandChoice::kBoth;
  t = Begin(t);
  if (tool >= 0) {
    if (stager_.carrier(tool) >= 0) side = static_cast<Side>(stager_.carrier(tool));
    // A tool hand cannot hold the workpiece as well.
    if (prop >= 0 && stager_.held(side) == prop) t = stager_.PutDown(t, side, {});
    t = stager_.Take(t, side, tool);
  } else if (stager_.held(side) >= 0 && stager_.held(side) != prop) {
    t = stager_.PutDown(t, side, {});
  }
  stager_.Face(prop, side);  // a tool may have been fetched from a shelf
  const Side helper = Other(side);
  const int in_hand = prop >= 0 ? stager_.carrier(prop) : -1;
  const bool helps = both || tool >= 0;

  std::array<HandGoal, 2> goals = Resting();
  if (in_hand >= 0) {
    // The piece is worked on in the hand that holds it; the other hand, if it works, meets it there.
    const Side holder = static_cast<Side>(in_hand);
    goals[holder] = stager_.OverBenchGoal(holder, prop);
    if (holder != side) {
      std::array<HandGoal, 2> bring{stager_.goal(kLeft), stager_.goal(kRight)};
      bring[holder] = goals[holder];
      t = stager_.Move(t, bring, {});
    }
  }
  if (in_hand != side) goals[side] = stager_.WorkGoal(side, prop, both && tool < 0 && in_hand < 0);
  if (helps && in_hand != helper) {
    // A helping hand with a thing of its own brings that to the piece.
    const bool brings = both && stager_.held(helper) >= 0;
    const bool works = both && tool < 0 && in_hand < 0;
    goals[helper] = brings || works             ? stager_.WorkGoal(helper, prop, true)
                    : stager_.held(helper) >= 0 ? stager_.RestGoal(helper)
                                                : stager_.SteadyGoal(helper, prop);
  }
  goals[side].margin_m = WorkMargin_m(beat);
  const bool helper_works = both && tool < 0 && in_hand < 0;
  if (helper_works) goals[helper].margin_m = WorkMargin_m(beat);
  const Vector3d look = prop >= 0 ? stager_.PropInWorld(prop) : goals[side].point_Y;

  Played played;
  played.ready_s = stager_.Move(t, goals, Stager::Look{look, true});
  played.end_s = played.ready_s + beat.for_s;
  played.in_use[side] = true;
  played.in_use[helper] = helps || in_hand == helper;
  OpenWork(side, played.ready_s, MakeWork(beat, false, work_));
  if (helper_works) OpenWork(helper, played.ready_s, MakeWork(beat, true, work_));
  idle_ = false;
  return played;
}

Director::Played Director::Point(const Beat& beat, double t) {
  const int prop = stager_.FindProp(beat.prop);
  Side side = SideOf(beat.hand);
  // A hand that holds something leaves the pointing to a free one.
  if (stager_.held(side) == prop || (stager_.held(side) >= 0 && stager_.held(Other(side)) < 0)) side = Other(side);
  t = Begin(t);
  if (stager_.held(side) >= 0) t = stager_.PutDown(t, side, {});
  stager_.Face(prop, side);
  std::array<HandGoal, 2> goals = Resting();
  if (stager_.carrier(prop) == Other(side)) goals[Other(side)] = stager_.goal(Other(side));
  goals[side] = stager_.PointGoal(side, prop, goals[Other(side)]);
  Played played;
  played.ready_s = stager_.Move(t, goals, Stager::Look{stager_.PropInWorld(prop), true});
  played.end_s = played.ready_s + beat.for_s;
  played.in_use[side] = true;
  OpenWork(side, played.ready_s, MakeHover(work_));
  idle_ = true;
  return played;
}

Director::Played Director::HoldUp(const Beat& beat, double t) {
  const int prop = stager_.FindProp(beat.prop);
  Side side = SideOf(beat.hand);
  if (stager_.carrier(prop) >= 0) {
    side = static_cast<Side>(stager_.carrier(prop));
    t = Begin(t);
  } else {
    FaceBench();
    t = stager_.Take(Begin(t), side, prop);
    stager_.LeaveShelf();
  }
  std::array<HandGoal, 2> goals = Resting();
  goals[side] = stager_.HoldUpGoal(side, prop);
  if (stager_.IsThin(prop)) stager_.SetTilt(side, Stager::ShowTilt());
  Played played;
  played.in_use[side] = true;
  // A glance at the thing on its way up, then to the crew.
  played.ready_s = stager_.Move(t, goals, Stager::Look{goals[side].point_Y, true});
  played.end_s = played.ready_s + beat.for_s;
  stager_.LookAt(played.ready_s + 0.2, {Ahead()});
  OpenWork(side, played.ready_s, MakeHover(work_));
  idle_ = true;
  return played;
}

Director::Played Director::PutDown(const Beat& beat, double t) {
  const int prop = stager_.FindProp(beat.prop);
  Side side = SideOf(beat.hand);
  t = Begin(t);
  if (stager_.carrier(prop) >= 0) {
    side = static_cast<Side>(stager_.carrier(prop));
  } else {
    t = stager_.Take(t, side, prop);  // not in the hand yet: it is moved
  }
  Played played;
  played.in_use[side] = true;
  std::optional<Stager::Place> place;
  if (beat.to_m) place = Stager::Place{*beat.to_m, beat.on};
  played.end_s = stager_.PutDown(t, side, place, stager_.RestGoal(Other(side)));
  played.ready_s = played.end_s;
  idle_ = false;
  return played;
}

Director::Played Director::Turn(const Beat& beat, double t) {
  stager_.SetTurn(beat.turn_rad);
  const double begin = Begin(t);
  const Vector3d look = std::abs(beat.turn_rad) < 0.05 ? stager_.CrewPoint() : stager_.TorsoPoint();
  const double arrived = stager_.Move(begin, Resting(), Stager::Look{look});
  const double ready = std::max(arrived, out_->head_W.end_s());
  idle_ = true;
  return {ready, ready + beat.for_s};
}

Director::Played Director::Say(const Beat& beat, double t) {
  // Hands stay at what they were doing, unless they were up in the air. The eyes go to the crew, unless the sentence is
  // about something else.
  double ready = Begin(t);
  if (idle_) ready = stager_.Move(ready, Resting(), {});
  bool to_crew = !beat.intent;
  if (beat.intent) {
    for (const Subject& subject : beat.intent->shot.subjects) to_crew = to_crew || subject.kind == SubjectKind::kFace;
  }
  if (to_crew) {
    ready = std::max(ready, stager_.LookAt(ready, {Ahead()}));
  }
  return {ready, std::max(ready, speech_end_s_ + 0.2)};
}

Director::Played Director::Glance(const Beat& beat, double t) {
  constexpr double kAside = 1.0;  // radians, well beyond what is on the bench
  Vector3d look = stager_.CrewPoint();
  if (beat.glance_at == GlanceAt::kLeft) look = stager_.TorsoPoint(kAside);
  if (beat.glance_at == GlanceAt::kRight) look = stager_.TorsoPoint(-kAside);
  if (beat.glance_at == GlanceAt::kProp) look = stager_.PropInWorld(stager_.FindProp(beat.prop));
  const double ready = stager_.LookAt(Begin(t), {look});
  return {ready, ready + beat.for_s};
}

Director::Played Director::Pass(const Beat& beat, double t) {
  FaceBench();
  const Side from = static_cast<Side>(stager_.carrier(stager_.FindProp(beat.prop)));
  Played played;
  played.in_use = {true, true};
  played.ready_s = played.end_s = stager_.Pass(Begin(t), from);
  idle_ = true;
  return played;
}

Director::Played Director::StepBack(const Beat& beat, double t) {
  FaceBench();
  const std::array<HandGoal, 2> hanging{stager_.BeforeBodyGoal(kLeft), stager_.BeforeBodyGoal(kRight)};
  const double off = stager_.Move(Begin(t), hanging, Stager::Look{stager_.BenchPoint()});
  const double ready = stager_.MoveBack(off, beat.back_m);
  idle_ = true;
  return {ready, stager_.MoveBack(std::max(ready + beat.for_s, speech_end_s_), 0)};
}

}  // namespace dryrig
