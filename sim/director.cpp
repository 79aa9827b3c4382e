#include "sim/director.h"

#include <algorithm>
#include <cmath>
#include <sstream>

namespace dryrig {

namespace {

constexpr double kWordsPerSecond = 2.5;  // 150 words a minute, common practice for speaking to people
constexpr double kSpeechStart_s = 0.2;

Side Other(Side side) {
  return side == kRight ? kLeft : kRight;
}

int CountWords(const std::string& text) {
  std::istringstream in(text);
  int count = 0;
  for (std::string word; in >> word;) ++count;
  return count;
}

}  // namespace

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
    case BeatKind::kGlance:
      return beat.glance_at == GlanceAt::kProp     ? "glance at " + beat.prop
             : beat.glance_at == GlanceAt::kCamera ? "glance at the camera"
             : beat.glance_at == GlanceAt::kLeft   ? "glance to the left"
                                                   : "glance to the right";
    case BeatKind::kPass:
      return "pass " + beat.prop;
    case BeatKind::kStepBack:
      return "step back";
  }
  return {};
}

Director::Director(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed,
                   Script* out)
    : lesson_(lesson),
      person_(person),
      stager_(lesson, bench, person, build, seed, out),
      work_(seed, "performance work"),
      speech_(seed, "performance speech"),
      out_(out) {}

void Director::Play() {
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
    stager_.Fidget(played.ready_s, played.end_s);
    t = played.end_s;
  }
  out_->intents = LayIntents(cues);
  out_->duration_s = t;
  if (!out_->intents.empty()) out_->duration_s = std::max(t, out_->intents.back().end_s);
}

/// Side of a hand the beat names; `both` leads with the dominant one.
Side Director::SideOf(HandChoice hand) const {
  const Side dominant = person_.left_handed ? kLeft : kRight;
  return hand == HandChoice::kOther ? Other(dominant) : dominant;
}

std::array<HandGoal, 2> Director::Resting() const {
  return {stager_.RestGoal(kLeft), stager_.RestGoal(kRight)};
}

double Director::Begin(double t) {
  return t + stager_.timing().Uniform(0.04, 0.14) / stager_.pace();
}

void Director::FaceBench() {
  stager_.Face(-1);
}

Eigen::Vector3d Director::Ahead() const {
  return std::abs(stager_.turn()) > 0.7 ? stager_.TorsoPoint() : stager_.CrewPoint();
}

/// Work and hover spans opened by the beat end with it.
void Director::EndWork(double end_s) {
  for (HandScript& hand : out_->hands) {
    if (hand.work.empty() || hand.work.back().end_s > 0) continue;
    WorkSpan& span = hand.work.back();
    span.end_s = end_s;
    span.fade_s = std::min(0.6, (end_s - span.start_s) / 2);
    if (span.fade_s <= 0.05) hand.work.pop_back();
  }
}
void Director::OpenWork(Side side, double start_s, WorkSpan span) {
  span.start_s = start_s;
  span.end_s = 0;
  stager_.FitWork(side, &span);
  out_->hands[side].work.push_back(span);
}

}  // namespace dryrig
