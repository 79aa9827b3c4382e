#include "bench/cue_score.h"

#include <algorithm>
#include <cmath>

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
  std::vector<bool> working, addressing;
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
      if (events[i].prop != what.prop || events[i].t_s < beat.ready_s - kEarly_s || events[i].t_s > beat.end_s + kLate_s)
        continue;
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

std::vector<CueCount> ScoreCues(const TakeSetup& setup) {
  Listener listener;
  const Take take = RunTake(setup, listener);
  return {CountEvents(listener.pointed, take, setup.lesson, BeatKind::kPoint),
          CountEvents(listener.raised, take, setup.lesson, BeatKind::kHoldUp),
          CountState(listener.times_s, listener.addressing, take, setup.lesson, BeatKind::kAddress),
          CountState(listener.times_s, listener.working, take, setup.lesson, BeatKind::kWork),
          CountSentences(listener.heard, take, setup.lesson)};
}

}  // namespace dryrig
