#include "sim/script.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "sim/stager.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

constexpr double kWordsPerSecond = 2.5;  // 150 words a minute, common practice for speaking to people
constexpr double kSpeechStart_s = 0.2;
constexpr double kIntentLeast_s = 3;
constexpr double kBenchTurn = 0.35;  // turned farther than this a person turns back before acting on the bench

Side Other(Side side) {
  return side == kRight ? kLeft : kRight;
}

/// What one beat did: when its approach was over, when it ends, which hands it used.
struct Played {
  double ready_s = 0, end_s = 0;
  std::array<bool, 2> in_use{false, false};
};

std::string LabelOf(const Beat& beat) {
  switch (beat.kind) {
    case BeatKind::kAddress:
      return "address the camera";
    case BeatKind::kReach:
      return (beat.take ? "take " : "reach to ") + beat.prop;
    case BeatKind::kWork:
      return "work on " + beat.prop + (beat.with.empty() ? "" : " with " + beat.with);
    case BeatKind::kPoint:
      return "point at " + beat.prop;
    case BeatKind::kHoldUp:
      return "hold up " + beat.prop;
    case BeatKind::kPutDown:
      return "put down " + beat.prop;
    case BeatKind::kTurn:
      return "turn";
    case BeatKind::kSay:
      return "say";
    case BeatKind::kPause:
      return "pause";
  }
  return {};
}

int CountWords(const std::string& text) {
  std::istringstream in(text);
  int count = 0;
  for (std::string word; in >> word;) ++count;
  return count;
}

class Director {
 public:
  Director(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed,
           Script* out)
      : lesson_(lesson),
        person_(person),
        stager_(lesson, bench, person, build, seed, out),
        work_(seed, "performance work"),
        speech_(seed, "performance speech"),
        out_(out) {}

  void Play() {
    std::vector<Cue> cues;
    double t = 0;
    for (size_t i = 0; i < lesson_.beats.size(); ++i) {
      const Beat& beat = lesson_.beats[i];
      const std::string label = LabelOf(beat);
      stager_.SetContext(&beat, static_cast<int>(i) + 1, label);
      double said = 0;
      if (!beat.say.empty()) {
        const double start = t + kSpeechStart_s;
        said = start + CountWords(beat.say) / kWordsPerSecond * std::clamp(1 + 0.05 * speech_.Normal(), 0.9, 1.1);
        out_->sentences.push_back({start, said, beat.say});
      }
      speech_end_s_ = said;
      Played played = PlayBeat(beat, t);
      played.end_s = std::max({played.end_s, played.ready_s, said + 0.1, t + 0.2});
      EndWork(played.end_s);
      out_->beats.push_back({t, played.ready_s, played.end_s, static_cast<int>(i), label});
      out_->hand_in_use.push_back(played.in_use);
      if (beat.intent) {
        const double sentence = beat.say.empty() ? played.ready_s : said;
        const double cue = beat.intent->cue == CueEnd::kAction     ? played.ready_s
                           : beat.intent->cue == CueEnd::kSentence ? sentence
                                                                   : std::max(played.ready_s, sentence);
        cues.push_back({cue, played.end_s, &beat.intent->shot, static_cast<int>(i)});
      }
      t = played.end_s;
    }
    out_->intents = LayIntents(cues);
    out_->duration_s = t;
    if (!out_->intents.empty()) out_->duration_s = std::max(t, out_->intents.back().end_s);
  }

 private:
  /// Side of a hand the beat names; `both` leads with the dominant one.
  Side SideOf(HandChoice hand) const {
    const Side dominant = person_.left_handed ? kLeft : kRight;
    return hand == HandChoice::kOther ? Other(dominant) : dominant;
  }

  /// What hands that a beat does not use do.
  std::array<HandGoal, 2> Resting() const { return {stager_.RestGoal(kLeft), stager_.RestGoal(kRight)}; }

  double Begin(double t) { return t + stager_.timing().Uniform(0.04, 0.14) / stager_.pace(); }

  void FaceBench() {
    if (std::abs(stager_.turn()) > kBenchTurn) stager_.SetTurn(0);
  }

  /// Work and hover spans opened by the beat end with it.
  void EndWork(double end_s) {
    for (HandScript& hand : out_->hands) {
      if (hand.work.empty() || hand.work.back().end_s > 0) continue;
      WorkSpan& span = hand.work.back();
      span.end_s = end_s;
      span.fade_s = std::min(0.6, (end_s - span.start_s) / 2);
      if (span.fade_s <= 0.05) hand.work.pop_back();
    }
  }
  void OpenWork(Side side, double start_s, WorkSpan span) {
    span.start_s = start_s;
    span.end_s = 0;
    stager_.FitWork(side, &span);
    out_->hands[side].work.push_back(span);
  }

  Played PlayBeat(const Beat& beat, double t) {
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
        break;
    }
    const double ready = stager_.Move(Begin(t), Resting(), {});
    idle_ = true;
    return {ready, ready + beat.for_s};
  }

  Played Address(const Beat& beat, double t) {
    if (std::abs(stager_.turn()) > 0.7) stager_.SetTurn(0);
    const double arrived = stager_.Move(Begin(t), Resting(), Stager::Look{stager_.CrewPoint()});
    const double ready = std::max(arrived, out_->head_W.end_s());
    idle_ = true;
    return {ready, ready + beat.for_s};
  }

  Played Reach(const Beat& beat, double t) {
    FaceBench();
    const int prop = stager_.FindProp(beat.prop);
    Side side = SideOf(beat.hand);
    if (stager_.carrier(prop) >= 0) side = static_cast<Side>(stager_.carrier(prop));
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
      std::array<HandGoal, 2> goals = Resting();
      if (other) goals[Other(side)] = *other;
      if (stager_.held(side) != prop) goals[side] = stager_.TouchGoal(side, prop);
      played.ready_s = stager_.Move(t, goals, Stager::Look{stager_.PropInWorld(prop), true});
    }
    played.end_s = played.ready_s + stager_.timing().Uniform(0.2, 0.45) / stager_.pace();
    idle_ = false;
    return played;
  }

  Played Work(const Beat& beat, double t) {
    FaceBench();
    const int prop = beat.prop.empty() ? -1 : stager_.FindProp(beat.prop);
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

  Played Point(const Beat& beat, double t) {
    FaceBench();
    const int prop = stager_.FindProp(beat.prop);
    Side side = SideOf(beat.hand);
    // A hand that holds something leaves the pointing to a free one.
    if (stager_.held(side) == prop || (stager_.held(side) >= 0 && stager_.held(Other(side)) < 0)) side = Other(side);
    t = Begin(t);
    if (stager_.held(side) >= 0) t = stager_.PutDown(t, side, {});
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

  Played HoldUp(const Beat& beat, double t) {
    const int prop = stager_.FindProp(beat.prop);
    Side side = SideOf(beat.hand);
    if (stager_.carrier(prop) >= 0) {
      side = static_cast<Side>(stager_.carrier(prop));
      t = Begin(t);
    } else {
      FaceBench();
      t = stager_.Take(Begin(t), side, prop);
    }
    std::array<HandGoal, 2> goals = Resting();
    goals[side] = stager_.HoldUpGoal(side, prop);
    if (stager_.IsThin(prop)) stager_.SetTilt(side, Stager::ShowTilt());
    Played played;
    played.in_use[side] = true;
    // A glance at the thing on its way up, then to the crew.
    played.ready_s = stager_.Move(t, goals, Stager::Look{goals[side].point_Y, true});
    played.end_s = played.ready_s + beat.for_s;
    stager_.LookAt(played.ready_s + 0.2, {std::abs(stager_.turn()) > 0.7 ? stager_.TorsoPoint() : stager_.CrewPoint()});
    OpenWork(side, played.ready_s, MakeHover(work_));
    idle_ = true;
    return played;
  }

  Played PutDown(const Beat& beat, double t) {
    FaceBench();
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
    played.end_s = stager_.PutDown(t, side, beat.to_m, stager_.RestGoal(Other(side)));
    played.ready_s = played.end_s;
    idle_ = false;
    return played;
  }

  Played Turn(const Beat& beat, double t) {
    stager_.SetTurn(beat.turn_rad);
    const double begin = Begin(t);
    const Vector3d look = std::abs(beat.turn_rad) < 0.05 ? stager_.CrewPoint() : stager_.TorsoPoint();
    const double arrived = stager_.Move(begin, Resting(), Stager::Look{look});
    const double ready = std::max(arrived, out_->head_W.end_s());
    idle_ = true;
    return {ready, ready + beat.for_s};
  }

  Played Say(const Beat& beat, double t) {
    // Hands stay at what they were doing, unless they were up in the air. The eyes go to the crew, unless the sentence is
    // about something else.
    double ready = Begin(t);
    if (idle_) ready = stager_.Move(ready, Resting(), {});
    bool to_crew = !beat.intent;
    if (beat.intent) {
      for (const Subject& subject : beat.intent->shot.subjects) to_crew = to_crew || subject.kind == SubjectKind::kFace;
    }
    if (to_crew) {
      const Vector3d look = std::abs(stager_.turn()) > 0.7 ? stager_.TorsoPoint() : stager_.CrewPoint();
      ready = std::max(ready, stager_.LookAt(ready, {look}));
    }
    return {ready, std::max(ready, speech_end_s_ + 0.2)};
  }

  const Lesson& lesson_;
  const PersonSpec& person_;
  Stager stager_;
  RandomStream work_, speech_;
  Script* out_;
  double speech_end_s_ = 0;
  bool idle_ = true;  // nothing is under the hands that a sentence could be about
};

}  // namespace

std::vector<TimedIntent> LayIntents(const std::vector<Cue>& cues) {
  std::vector<TimedIntent> out;
  for (const Cue& cue : cues) {
    double start = cue.start_s;
    if (!out.empty()) {
      start = std::max(start, out.back().start_s + kIntentLeast_s);
      out.back().end_s = std::min(out.back().end_s, start);
    }
    out.push_back({start, std::max(cue.beat_end_s, start + kIntentLeast_s), *cue.shot, cue.beat});
  }
  return out;
}

Script WriteScript(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed) {
  Script script;
  Director(lesson, bench, person, build, seed, &script).Play();
  constexpr double kDeg = 0.017453292519943295;
  // Sway of a person who sits or stands at ease, a few millimetres (from memory); breath 12 to 18 a minute.
  RandomStream unrest(seed, "performance unrest");
  script.sway_x = Wander(unrest, 0.0020, 0.1, 0.45);
  script.sway_y = Wander(unrest, 0.0015, 0.1, 0.45);
  script.sway_lean = Wander(unrest, 0.2 * kDeg, 0.08, 0.4);
  script.sway_twist = Wander(unrest, 0.4 * kDeg, 0.06, 0.3);
  script.sway_roll = Wander(unrest, 0.2 * kDeg, 0.06, 0.3);
  script.breath = Wander(unrest, 0.0015, 0.2, 0.3);
  RandomStream tremor(seed, "performance tremor");
  // Physiological tremor: 50 to 200 µm RMS, 8 to 12 Hz; the total over three axes lies inside that band.
  const double per_axis = tremor.Uniform(45e-6, 85e-6);
  for (HandScript& hand : script.hands) {
    for (Wander& axis : hand.tremor) axis = Wander(tremor, per_axis, 8, 12);
  }
  return script;
}

}  // namespace dryrig
