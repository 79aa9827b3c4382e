#include "viewer/moment.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "metrics/pair_motion.h"
#include "metrics/tolerances.h"
#include "viewer/transport.h"

namespace dryrig {

namespace {

constexpr double kSlack_s = 1e-9;

size_t IndexAt(double t_s, double rate_hz, size_t size) {
  const int number = FrameNumber(std::max(0.0, t_s), rate_hz);
  return std::min(static_cast<size_t>(number), size - 1);
}

/// The last of `spans` that began by t_s and still runs.
template <class Span>
const Span* Running(const std::vector<Span>& spans, double t_s) {
  for (auto it = spans.rbegin(); it != spans.rend(); ++it) {
    if (t_s >= it->start_s - kSlack_s && t_s < it->end_s - kSlack_s) return &*it;
  }
  return nullptr;
}

bool SameSubjects(const Shot& a, const Shot& b) {
  return std::is_permutation(a.subjects.begin(), a.subjects.end(), b.subjects.begin(), b.subjects.end());
}

}  // namespace

size_t FrameAt(const Take& take, double t_s) {
  return IndexAt(t_s, take.id.frame_hz, take.frames.size());
}
size_t TickAt(const Take& take, double t_s) {
  return IndexAt(t_s, take.id.physics_hz, take.ticks.size());
}

const TimedIntent* IntentAt(const Take& take, double t_s) {
  return Running(take.intents, t_s);
}
const TimedBeat* BeatAt(const Take& take, double t_s) {
  return Running(take.beats, t_s);
}
const Sentence* SentenceAt(const Take& take, double t_s) {
  return Running(take.sentences, t_s);
}

Match MatchOf(const TimedIntent* asked, const Shot& chosen) {
  if (asked == nullptr) return Match::kNothingAsked;
  if (!SameSubjects(asked->shot, chosen)) return Match::kOtherSubject;
  return asked->shot.size == chosen.size && asked->shot.angle == chosen.angle ? Match::kSame : Match::kOtherView;
}

std::vector<ChosenRun> ChosenRuns(const Take& take) {
  std::vector<ChosenRun> runs;
  for (size_t i = 0; i < take.frames.size(); ++i) {
    const double t_s = static_cast<double>(i) / take.id.frame_hz;
    const Shot& shot = take.frames[i].chosen;
    const Match match = MatchOf(IntentAt(take, t_s), shot);
    if (runs.empty() || runs.back().match != match || !(runs.back().shot == shot)) runs.push_back({t_s, t_s, shot, match});
    runs.back().end_s = static_cast<double>(i + 1) / take.id.frame_hz;
  }
  return runs;
}

std::vector<double> BeatStarts_s(const Take& take) {
  std::vector<double> out;
  for (const TimedBeat& beat : take.beats) out.push_back(beat.start_s);
  std::sort(out.begin(), out.end());
  return out;
}

std::string ShortName(const Shot& shot) {
  std::string out;
  for (const Subject& subject : shot.subjects) {
    out += (out.empty() ? "" : " + ") + (subject.kind == SubjectKind::kProp ? subject.prop : ToString(subject));
  }
  return out + ", " + std::string(ToString(shot.size)) + ", " + std::string(ToString(shot.angle));
}

SightReport Look(const Take& take, size_t frame_number, const Shot& shot, SightScene* scene) {
  const TakeFrame& frame = take.frames.at(frame_number);
  const Eigen::Vector3d& p_WC = frame.X_WC.translation();
  const Eigen::Isometry3d X_CW = frame.X_WC.inverse();
  std::vector<SubjectSample> samples;
  SubjectSamples(take, frame, shot, &samples);
  scene->SetFrame(frame);
  SightReport out;
  std::map<std::string, int> blockers;
  for (const SubjectSample& sample : samples) {
    if (scene->IsFarSide(p_WC, sample)) continue;
    const auto image = Project(take.camera, frame.lens, X_CW * sample.p_W);
    SampleLine line{sample.p_W, SampleSight::kOutside, -1};
    if (image && InFrame(take.camera, *image)) {
      line.blocker = scene->FirstBlocker(p_WC, sample);
      line.sight = line.blocker < 0 ? SampleSight::kClear : SampleSight::kBlocked;
    }
    ++(line.sight == SampleSight::kClear ? out.clear : line.sight == SampleSight::kBlocked ? out.blocked : out.outside);
    if (line.blocker >= 0) ++blockers[scene->NameOf(line.blocker)];
    out.lines.push_back(line);
  }
  out.blockers.assign(blockers.begin(), blockers.end());
  std::stable_sort(out.blockers.begin(), out.blockers.end(), [](const auto& a, const auto& b) { return a.second > b.second; });
  const SubjectGeometry subject = MeasureSubject(take, shot, samples);
  out.framing = MeasureFraming(take.camera, frame.X_WC, frame.lens, frame.person.q_WT, shot, subject, Tolerances{});
  out.centre_W = subject.centre_W;
  out.extent_m = subject.extent_m;
  return out;
}

std::optional<Nearness> NearnessAt(const Take& take, const Scorecard& card, double t_s) {
  if (take.ticks.empty()) return std::nullopt;
  const TakeTick& tick = take.ticks[TickAt(take, t_s)];
  if (!HasPair(tick)) return std::nullopt;
  Nearness out{tick.clearance.distance_m, PairName(take, tick), tick.clearance.p_WArm, tick.clearance.p_WPerson, std::nullopt};
  if (const Score* margin = FindScore(card, "separation_margin")) {
    if (const auto value = ValueAt(margin->series, t_s)) out.protective_m = out.distance_m - *value;
  }
  return out;
}

std::optional<double> ValueAt(const Series& series, double t_s) {
  if (!(series.rate_hz > 0) || t_s < 0) return std::nullopt;
  const auto at = static_cast<size_t>(FrameNumber(t_s, series.rate_hz));
  if (at >= series.values.size() || !std::isfinite(series.values[at])) return std::nullopt;
  return series.values[at];
}

const Score* FindScore(const Scorecard& card, std::string_view metric) {
  const auto metrics = Metrics();
  for (size_t i = 0; i < std::min(metrics.size(), card.scores.size()); ++i) {
    if (metrics[i].name == metric) return &card.scores[i];
  }
  return nullptr;
}

}  // namespace dryrig
