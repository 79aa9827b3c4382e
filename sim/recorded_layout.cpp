#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "scenes/recorded_lesson.h"
#include "sim/recorded_play.h"
#include "sim/script.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

constexpr double kClosing_s = 0.4;
constexpr double kUseSpeed = 0.05;  // m/s on average over a second: a hand that works, not one that rests
constexpr double kUseWindow_s = 1.0;

}  // namespace

RecordedPlay::RecordedPlay(const Lesson& lesson, const Bench& bench, const PersonSpec& like) {
  const RecordedLesson& recorded = *lesson.recorded;
  const Recording& motion = recorded.motion;
  rate_hz_ = motion.rate_hz;
  length_s_ = recorded.length_s;
  const double from = (recorded.start_s - motion.start_s) * rate_hz_;
  const auto first = static_cast<size_t>(std::clamp(std::floor(from + 1e-6), 0.0, static_cast<double>(motion.frames - 2)));
  const auto last = std::min(motion.frames - 1, static_cast<size_t>(std::ceil(from + length_s_ * rate_hz_ - 1e-6)));
  first_u_ = std::max(0.0, from - static_cast<double>(first));

  build_ = BuildPerson(MeasuredPerson(motion, like), bench);
  person_ = MakePersonBody(build_);
  const RecordedStand stand(recorded, first, last, build_);
  body_.emplace(recorded, first, last, build_, stand);

  duration_s_ = length_s_;
  LaySpeech(recorded);
  LayKey(recorded);
  LayProps(lesson, bench);
  FindHandsInUse(recorded);
  TakeNotes(recorded, bench, stand);
}

/// Sentences that fall into the part played, and a beat from each to the next.
void RecordedPlay::LaySpeech(const RecordedLesson& recorded) {
  for (const CaptionCue& cue : recorded.captions.cues) {
    const double start = std::max(0.0, cue.start_s - recorded.start_s), end = std::min(length_s_, cue.end_s - recorded.start_s);
    if (end > start) sentences_.push_back({start, end, cue.text});
  }
  double from = 0;
  const auto add = [&](double to, const std::string& label) {
    if (to <= from) return;
    beats_.push_back({from, from, to, static_cast<int>(beats_.size()), label});
    from = to;
  };
  for (size_t i = 0; i < sentences_.size(); ++i) {
    add(sentences_[i].start_s, "recorded motion");
    add(i + 1 < sentences_.size() ? std::max(sentences_[i].start_s, sentences_[i + 1].start_s) : length_s_,
        fmt::format("sentence {}", i + 1));
  }
  add(length_s_, "recorded motion");
}

void RecordedPlay::LayKey(const RecordedLesson& recorded) {
  std::vector<Cue> cues;
  for (size_t i = 0; i < recorded.intents.size(); ++i) {
    const RecordedIntent& intent = recorded.intents[i];
    const double next = i + 1 < recorded.intents.size() ? recorded.intents[i + 1].from_s - recorded.start_s : length_s_;
    const double from = intent.from_s - recorded.start_s,
                 to = std::min(intent.to_s ? *intent.to_s - recorded.start_s : next, length_s_);
    if (from >= length_s_ || to <= 0) continue;
    int beat = 0;
    while (static_cast<size_t>(beat) + 1 < beats_.size() && beats_[static_cast<size_t>(beat) + 1].start_s <= from) ++beat;
    cues.push_back({std::max(from, 0.0), to, &intent.shot, beat});
  }
  intents_ = LayIntents(cues);
  if (!intents_.empty()) duration_s_ = std::max(duration_s_, intents_.back().end_s);
}

void RecordedPlay::LayProps(const Lesson& lesson, const Bench& bench) {
  const RecordedLesson& recorded = *lesson.recorded;
  std::vector<Rest> now;
  for (const Prop& prop : lesson.props) {
    const double height = TopHeight_m(bench, prop.on) + prop.shape.Below();
    now.push_back({{prop.at_m.x(), prop.at_m.y(), height}, prop.yaw_rad});
  }
  rests_ = now;
  for (const RecordedCarry& wish : recorded.carried) {
    Carry carry;
    carry.prop = static_cast<size_t>(wish.prop);
    carry.side = static_cast<Side>(wish.side);
    carry.grab_s = std::clamp(wish.from_s - recorded.start_s, 0.0, length_s_);
    carry.free_s = std::clamp(wish.to_s - recorded.start_s, 0.0, length_s_);
    if (carry.free_s <= carry.grab_s) continue;
    const double closing = std::min(kClosing_s, (carry.free_s - carry.grab_s) / 2);
    carry.held_s = carry.grab_s + closing;
    carry.let_s = carry.free_s - closing;
    const Prop& prop = lesson.props[carry.prop];
    const bool box = prop.shape.kind == ShapeKind::kBox;
    const double across = 2 * (box ? std::min(prop.shape.half_m.x(), prop.shape.half_m.y()) : prop.shape.radius_m);
    carry.grip = PinchingFingers(std::clamp(across, 0.002, 0.11), build_.hand);
    carry.p_HG = GripPoint(carry.side, carry.grip, build_.hand);
    carry.before = now[carry.prop];
    carry.after = rests_[carry.prop];
    if (wish.to_m) carry.after.p_W << *wish.to_m, bench.height_m + prop.shape.Below();
    const Eigen::Matrix3d R_WP = Eigen::AngleAxisd(carry.before.yaw, Vector3d::UnitZ()).toRotationMatrix();
    carry.R_HP = body_->X_WH(RowAt(carry.grab_s), carry.side).linear().transpose() * R_WP;
    now[carry.prop] = carry.after;
    carries_.push_back(std::move(carry));
  }
}

void RecordedPlay::FindHandsInUse(const RecordedLesson& recorded) {
  const auto frames = static_cast<size_t>(std::ceil(first_u_ + length_s_ * rate_hz_ - 1e-6)) + 1;
  in_use_.assign(frames, {false, false});
  if (!recorded.in_use.empty()) {
    for (const RecordedUse& use : recorded.in_use) {
      for (size_t f = 0; f < frames; ++f) {
        const double t_s = recorded.start_s + (static_cast<double>(f) - first_u_) / rate_hz_;
        for (const Side side : {kLeft, kRight})
          in_use_[f][side] = in_use_[f][side] || (use.hands[side] && t_s >= use.from_s && t_s < use.to_s);
      }
    }
    return;
  }
  // Way of each wrist about the hips up to a frame; its difference over a window is the mean speed there.
  const Recording& motion = recorded.motion;
  const auto first = static_cast<size_t>(std::lround((recorded.start_s - motion.start_s) * rate_hz_ - first_u_));
  std::array<std::vector<double>, 2> ways;
  std::array<Vector3d, 2> last{Vector3d::Zero(), Vector3d::Zero()};
  for (size_t f = 0; f < frames; ++f) {
    const size_t frame = std::min(first + f, motion.frames - 1);
    const Vector3d hips = motion.HipsAt(frame);
    for (const Side side : {kLeft, kRight}) {
      const Vector3d now = motion.At(frame, AtSide(TrackPoint::kWristL, side)) - hips;
      ways[side].push_back(f == 0 ? 0 : ways[side].back() + (now - last[side]).norm());
      last[side] = now;
    }
  }
  for (const Side side : {kLeft, kRight}) {
    const std::vector<double>& way = ways[side];
    const auto half = static_cast<size_t>(std::ceil(0.5 * kUseWindow_s * rate_hz_));
    for (size_t f = 0; f < frames; ++f) {
      const size_t a = f < half ? 0 : f - half, b = std::min(f + half, frames - 1);
      in_use_[f][side] = b > a && (way[b] - way[a]) * rate_hz_ / static_cast<double>(b - a) > kUseSpeed;
    }
  }
}

void RecordedPlay::TakeNotes(const RecordedLesson& recorded, const Bench& bench, const RecordedStand& stand) {
  std::vector<std::string> synthetic;
  for (const Side side : {kLeft, kRight}) {
    if (!body_->HasFingers(side)) synthetic.push_back(side == kLeft ? "left fingers" : "right fingers");
  }
  for (const auto& [point, word] :
       {std::pair<BodyPoint, const char*>{kHipL, "hips"}, {kKneeL, "knees"}, {kAnkleL, "ankles"}, {kToeL, "toes"}}) {
    if (body_->synthetic()[point] || body_->synthetic()[point + 1]) synthetic.emplace_back(word);
  }
  if (!synthetic.empty()) notes_.push_back(fmt::format("not in the file and made up: {}", fmt::join(synthetic, ", ")));
  constexpr double kStray_m = 0.3;
  if (stand.strays_m() > kStray_m && !recorded.place.on_the_spot) {
    notes_.push_back(
        fmt::format("the hips get {:.2f} m from their middle; `place: on-the-spot` takes walking about out", stand.strays_m()));
  }
  constexpr double kLook_s = 0.25;
  size_t over = 0;
  for (double t = 0; t <= length_s_; t += kLook_s) {
    const Vector3d hips = PoseAt(t).p_W[kPelvis];
    if (std::abs(hips.x()) < bench.width_m / 2 && hips.y() > 0 && hips.y() < bench.depth_m) ++over;
  }
  if (over > 0) {
    notes_.push_back(fmt::format("for {:.1f} of {:.1f} s the hips are within the bench; choose another part, place or bench",
                                 kLook_s * static_cast<double>(over), length_s_));
  }
}

}  // namespace dryrig
