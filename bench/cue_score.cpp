#include "bench/cue_score.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "policies/cues.h"
#include "policies/sentences.h"

namespace dryrig {

namespace {

constexpr double kEarly_s = 0.5, kLate_s = 1, kSettle_s = 1;

/// One reading of an event: when it began, and of which prop.
struct Event {
  double t_s;
  std::string prop;
};

/// Stands, and writes down what it reads.
class Listener : public Policy {
 public:
  std::vector<Event> pointed, raised;
  std::vector<double> times_s;
  std::vector<bool> working, addressing, turned;
  std::vector<double> torso_rad;
  std::vector<HeardSentence> heard;

 private:
  void DoBackToOne(const Stage& stage, uint64_t) override {
    q_ = stage.arm.home;
    focal_m_ = stage.camera.focal_min_m;
    scene_.Reset(stage);
    reader_.Reset(stage);
  }
  Move DoDecide(const Observation& seen) override {
    scene_.Update(seen);
    const Cues& cues = reader_.Update(scene_);
    Note(cues.pointed_at, seen.t_s, &pointed_now_, &pointed);
    Note(cues.raised, seen.t_s, &raised_now_, &raised);
    times_s.push_back(seen.t_s);
    working.push_back(cues.working);
    addressing.push_back(cues.addressing);
    turned.push_back(cues.turned);
    torso_rad.push_back(cues.torso_rad);
    heard.assign(seen.heard.begin(), seen.heard.end());
    return {JointTarget{q_}, focal_m_, 1, {}};
  }
  static void Note(const std::string& prop, double t_s, std::string* now, std::vector<Event>* events) {
    if (prop != *now && !prop.empty()) events->push_back({t_s, prop});
    *now = prop;
  }

  Eigen::VectorXd q_;
  double focal_m_ = 0;
  SceneFilter scene_;
  CueReader reader_;
  std::string pointed_now_, raised_now_;
};

bool InBeat(const Event& event, const TimedBeat& beat) {
  return event.t_s >= beat.ready_s - kEarly_s && event.t_s <= beat.end_s + kLate_s;
}

CueCount CountEvents(const std::vector<Event>& events, const Take& take, const Lesson& lesson, BeatKind kind) {
  CueCount out;
  out.read = static_cast<double>(events.size());
  std::vector<bool> used(events.size(), false);
  for (const TimedBeat& beat : take.beats) {
    const Beat& what = lesson.beats[static_cast<size_t>(beat.beat)];
    if (what.kind != kind || beat.ready_s > take.duration_s) continue;
    out.shown += 1;
    bool first = true;
    for (size_t i = 0; i < events.size(); ++i) {
      if (events[i].prop != what.prop || !InBeat(events[i], beat)) continue;
      if (first) out.found += 1, out.delays_s.push_back(events[i].t_s - beat.ready_s);
      first = false;
      if (!used[i]) out.right += 1;
      used[i] = true;
    }
  }
  return out;
}

/// Seconds of a state. Neither counts while a beat of the kind approaches or is but a second old, nor in the second after it.
CueCount CountState(const std::vector<double>& times_s, const std::vector<bool>& read, const Take& take, const Lesson& lesson,
                    BeatKind kind) {
  CueCount out;
  const double dt_s = 1 / take.id.control_hz;
  std::vector<bool> begun(take.beats.size(), false);
  for (size_t i = 0; i < times_s.size(); ++i) {
    const double t_s = times_s[i];
    bool inside = false, beside = false;
    for (size_t b = 0; b < take.beats.size(); ++b) {
      const TimedBeat& beat = take.beats[b];
      if (lesson.beats[static_cast<size_t>(beat.beat)].kind != kind) continue;
      const bool on = t_s >= beat.ready_s && t_s < beat.end_s;
      if (on && read[i] && !begun[b]) begun[b] = true, out.delays_s.push_back(t_s - beat.ready_s);
      inside |= on && t_s >= beat.ready_s + kSettle_s;
      beside |= t_s >= beat.start_s && t_s < beat.end_s + kLate_s;
    }
    if (inside) out.shown += dt_s, out.found += read[i] ? dt_s : 0;
    if (read[i] && (inside || !beside)) out.read += dt_s, out.right += inside ? dt_s : 0;
  }
  return out;
}

/// As CountState, of a torso that stays turned until the next turn.
CueCount CountTurned(const std::vector<double>& times_s, const std::vector<bool>& read, const Take& take, const Lesson& lesson) {
  constexpr double kTurned_rad = 15 * std::numbers::pi / 180;
  CueCount out;
  std::vector<const TimedBeat*> turns;
  for (const TimedBeat& beat : take.beats) {
    if (lesson.beats[static_cast<size_t>(beat.beat)].kind == BeatKind::kTurn) turns.push_back(&beat);
  }
  const double dt_s = 1 / take.id.control_hz;
  std::vector<bool> begun(turns.size(), false);
  for (size_t i = 0; i < times_s.size(); ++i) {
    size_t now = turns.size();
    for (size_t k = 0; k < turns.size() && turns[k]->start_s <= times_s[i]; ++k) now = k;
    const bool any = now < turns.size();
    const bool turned = any && std::abs(lesson.beats[static_cast<size_t>(turns[now]->beat)].turn_rad) > kTurned_rad;
    if (turned && read[i] && !begun[now] && times_s[i] >= turns[now]->ready_s)
      begun[now] = true, out.delays_s.push_back(times_s[i] - turns[now]->ready_s);
    if (any && times_s[i] < turns[now]->ready_s + kSettle_s) continue;
    if (turned) out.shown += dt_s, out.found += read[i] ? dt_s : 0;
    if (read[i]) out.read += dt_s, out.right += turned ? dt_s : 0;
  }
  return out;
}

/// How far the finger that points is from its prop in the middle of a beat.
double FromFingertip_m(const Performance& performance, const Lesson& lesson, const TimedBeat& beat) {
  const double t_s = 0.5 * (beat.ready_s + beat.end_s);
  const BodyPose pose = performance.PoseAt(t_s);
  const std::vector<PropPose> props = performance.PropsAt(t_s);
  const std::string& name = lesson.beats[static_cast<size_t>(beat.beat)].prop;
  double nearest_m = 1e9;
  for (size_t i = 0; i < props.size(); ++i) {
    if (lesson.props[i].name != name) continue;
    for (const Side side : {kLeft, kRight}) {
      if (pose.hand_in_use[side])
        nearest_m = std::min(nearest_m, (pose.p_W[static_cast<size_t>(HandPoint(side, 8))] - props[i].X_WP.translation()).norm());
    }
  }
  return nearest_m;
}

void CountDistances(const std::vector<Event>& events, const Take& take, const Lesson& lesson, const Performance& performance,
                    std::vector<PointingAtDistance>* out) {
  for (const TimedBeat& beat : take.beats) {
    const Beat& what = lesson.beats[static_cast<size_t>(beat.beat)];
    if (what.kind != BeatKind::kPoint || beat.ready_s > take.duration_s) continue;
    const double from_m = FromFingertip_m(performance, lesson, beat);
    const auto at = std::find_if(out->begin(), out->end(), [&](const PointingAtDistance& one) { return from_m <= one.up_to_m; });
    ++at->shown;
    for (const Event& event : events) {
      if (!InBeat(event, beat)) continue;
      const bool right = event.prop == what.prop;
      // Where two beats follow each other, a reading that names the other's prop is the other's.
      const bool others = !right && std::any_of(take.beats.begin(), take.beats.end(), [&](const TimedBeat& other) {
        const Beat& of = lesson.beats[static_cast<size_t>(other.beat)];
        return of.kind == BeatKind::kPoint && of.prop == event.prop && InBeat(event, other);
      });
      if (others) continue;
      ++at->readings;
      at->right += right;
    }
  }
}

/// What a sentence is to the lesson's author: a wish that the picture waits for, nothing, or a part of what a beat shows, which
/// may be read either way.
enum class Said { kWish, kNothing, kEither };
Said KindOf(const Sentence& said, const Take& take, const Lesson& lesson) {
  for (const TimedBeat& beat : take.beats) {
    const Beat& what = lesson.beats[static_cast<size_t>(beat.beat)];
    if (what.say != said.text || std::abs(beat.start_s - said.start_s) > 1) continue;
    if (!what.intent || what.intent->cue == CueEnd::kAction) return Said::kNothing;
    return what.intent->cue == CueEnd::kSentence ? Said::kWish : Said::kEither;
  }
  return Said::kNothing;
}

CueCount CountSentences(const std::vector<HeardSentence>& heard, const Take& take, const Lesson& lesson) {
  std::vector<std::string> props;
  for (const Prop& prop : lesson.props) props.push_back(prop.name);
  CueCount out;
  std::vector<bool> found(take.sentences.size(), false);
  for (const Sentence& said : take.sentences) out.shown += KindOf(said, take, lesson) == Said::kWish;
  for (const HeardSentence& sentence : heard) {
    if (ReadSentence(sentence.text, props).empty()) continue;
    // The sentence that was being spoken: one that is delivered in two parts ends its first before its last word.
    const auto it = std::find_if(take.sentences.begin(), take.sentences.end(),
                                 [&](const Sentence& said) { return sentence.end_s <= said.end_s + 1e-6; });
    if (it == take.sentences.end()) continue;
    const Said kind = KindOf(*it, take, lesson);
    if (kind == Said::kEither) continue;
    out.read += 1;
    const auto i = static_cast<size_t>(it - take.sentences.begin());
    if (kind == Said::kNothing) continue;
    out.right += 1;
    if (!found[i]) out.found += 1, out.delays_s.push_back(sentence.heard_s - it->end_s);
    found[i] = true;
  }
  return out;
}

}  // namespace

std::optional<double> CueCount::F1() const {
  const auto p = Precision(), r = Recall();
  if (!p || !r) return std::nullopt;
  return *p + *r > 0 ? 2 * *p * *r / (*p + *r) : 0;
}

std::optional<double> CueCount::MedianDelay_s() const {
  if (delays_s.empty()) return std::nullopt;
  std::vector<double> sorted = delays_s;
  std::sort(sorted.begin(), sorted.end());
  return sorted[sorted.size() / 2];
}

void CueCount::Add(const CueCount& other) {
  read += other.read, right += other.right, shown += other.shown, found += other.found;
  delays_s.insert(delays_s.end(), other.delays_s.begin(), other.delays_s.end());
}

bool IsState(size_t cue_kind) {
  return cue_kind >= 2 && cue_kind <= 4;
}

void CueScores::Add(const CueScores& other) {
  for (size_t i = 0; i < kinds.size(); ++i) kinds[i].Add(other.kinds[i]);
  for (size_t i = 0; i < pointing.size(); ++i) {
    pointing[i].shown += other.pointing[i].shown;
    pointing[i].readings += other.pointing[i].readings;
    pointing[i].right += other.pointing[i].right;
  }
  torso_off_rad.insert(torso_off_rad.end(), other.torso_off_rad.begin(), other.torso_off_rad.end());
}

CueScores ScoreCues(const TakeSetup& setup) {
  Listener listener;
  const Take take = RunTake(setup, listener);
  CueScores out;
  out.kinds = {CountEvents(listener.pointed, take, setup.lesson, BeatKind::kPoint),
               CountEvents(listener.raised, take, setup.lesson, BeatKind::kHoldUp),
               CountState(listener.times_s, listener.addressing, take, setup.lesson, BeatKind::kAddress),
               CountState(listener.times_s, listener.working, take, setup.lesson, BeatKind::kWork),
               CountTurned(listener.times_s, listener.turned, take, setup.lesson),
               CountSentences(listener.heard, take, setup.lesson)};
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  CountDistances(listener.pointed, take, setup.lesson, performance, &out.pointing);
  for (size_t i = 0; i < listener.times_s.size(); ++i) {
    const Eigen::Vector3d ahead = performance.PoseAt(listener.times_s[i]).q_WT * Eigen::Vector3d::UnitY();
    const double off_rad = listener.torso_rad[i] - std::atan2(-ahead.x(), ahead.y());
    out.torso_off_rad.push_back(std::abs(std::remainder(off_rad, 2 * std::numbers::pi)));
  }
  return out;
}

}  // namespace dryrig
