#include "policies/shot_choice.h"

#include <algorithm>

namespace dryrig {

namespace {

Shot FaceShot() {
  return {{Subject{SubjectKind::kFace, ""}}, ShotSize::kMedium, ShotAngle::kEyeLevel};
}
Shot HandsShot() {
  return {{Subject{SubjectKind::kHands, ""}}, ShotSize::kCloseUp, ShotAngle::kHighAngle};
}
Shot BenchShot() {
  return {{Subject{SubjectKind::kBench, ""}}, ShotSize::kWide, ShotAngle::kHighAngle};
}
Shot PropShot(const std::string& name, ShotAngle angle) {
  return {{Subject{SubjectKind::kProp, name}}, ShotSize::kCloseUp, angle};
}

ShotSize Closer(ShotSize size) {
  return static_cast<ShotSize>(std::min(static_cast<int>(size) + 1, static_cast<int>(ShotSize::kExtremeCloseUp)));
}

bool OfFace(const Shot& shot) {
  return shot.subjects.front().kind == SubjectKind::kFace;
}

}  // namespace

Shot Apply(const Ask& ask, const Shot& shot, bool named_in_work) {
  Shot out = shot;
  if (ask.closer < 0) {
    out = BenchShot();
  } else if (!ask.look_at.empty()) {
    const Subject prop{SubjectKind::kProp, ask.look_at};
    out = named_in_work ? HandsShot() : PropShot(ask.look_at, ShotAngle::kHighAngle);
    if (named_in_work) out.subjects.push_back(prop);
  }
  // A view from above, or a closer one, is of what is done or shown, not of the speaker.
  if (OfFace(out) && ask.angle == ShotAngle::kOverhead) out = HandsShot();
  if (ask.closer > 0) out.size = Closer(out.size);
  if (ask.angle) out.angle = *ask.angle;
  return out;
}

void ShotChooser::Reset() {
  *this = ShotChooser(config_);
  base_ = shot_ = FaceShot();
}

bool ShotChooser::AnyCue(const Cues& cues) const {
  return !cues.raised.empty() || !cues.pointed_at.empty() || cues.working || cues.addressing;
}

Shot ShotChooser::CueShot(const Cues& cues) const {
  if (!cues.raised.empty()) return PropShot(cues.raised, ShotAngle::kEyeLevel);
  if (!cues.pointed_at.empty()) return PropShot(cues.pointed_at, ShotAngle::kHighAngle);
  if (cues.working) return HandsShot();
  if (cues.addressing) return FaceShot();
  return base_;
}

const Shot& ShotChooser::Update(double t_s, const Cues& cues, const std::vector<Heard>& heard) {
  const bool any = AnyCue(cues);
  const Shot cue_shot = CueShot(cues);
  for (const Heard& one : heard) {
    if (one.ask.empty()) continue;
    if (any) base_ = cue_shot;
    asked_ = !one.ask.back_to_normal;
    shot_ = asked_ ? Apply(one.ask, base_, one.named_in_work) : base_;
    seen_at_ask_ = cue_shot;
    // Somebody who speaks to the camera gets it back when what was asked for has been shown; work goes on under the ask.
    same_cue_ = any && !OfFace(cue_shot);
    asked_s_ = cut_s_ = t_s;
  }
  same_cue_ = same_cue_ && any && cue_shot == seen_at_ask_;
  if (!any) return shot_;
  if (asked_ && (same_cue_ || t_s - asked_s_ < config_.least_ask_s)) return shot_;
  asked_ = false;
  if (cue_shot != shot_ && t_s - cut_s_ >= config_.least_shot_s) {
    base_ = shot_ = cue_shot;
    cut_s_ = t_s;
  }
  return shot_;
}

}  // namespace dryrig
