#include "metrics/footage.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kTimeSlack_s = 1e-9;  // a frame exactly on an intent's edge is inside

int SideOf(const SubjectSample& sample) {
  if (sample.landmark < 0) return -1;
  return sample.landmark >= kHandR ? kRight : kLeft;
}

/// Follows every line of sight of one frame. `hits` counts blocked samples a body; it comes and goes all zero.
void Look(const Take& take, const TakeFrame& frame, const SightScene& scene, const std::vector<SubjectSample>& samples,
          bool hands_asked, std::vector<int>* hits, FrameView* view) {
  const Eigen::Isometry3d X_CW = frame.X_WC.inverse();
  const DepthOfField focus = FieldInFocus(take.camera, frame.lens);
  for (const SubjectSample& sample : samples) {
    if (scene.IsFarSide(frame.X_WC.translation(), sample)) continue;
    const bool landmark = hands_asked && sample.landmark >= 0;
    ++view->samples;
    view->landmarks += landmark;
    const Eigen::Vector3d p_CS = X_CW * sample.p_W;
    const auto image = Project(take.camera, frame.lens, p_CS);
    if (!image || !InFrame(take.camera, *image)) {
      ++view->outside;
      continue;
    }
    const int body = scene.FirstBlocker(frame.X_WC.translation(), sample);
    if (body >= 0) {
      const auto kind = static_cast<size_t>(scene.KindOf(body, SideOf(sample)));
      const int hits_now = ++(*hits)[static_cast<size_t>(body)];
      int& top = view->top_blocker[kind];
      if (view->blocked[kind] == 0 || hits_now > (*hits)[static_cast<size_t>(top)]) top = body;
      ++view->blocked[kind];
      continue;
    }
    ++view->clear;
    view->landmarks_visible += landmark;
    view->landmarks_in_focus += landmark && p_CS.z() >= focus.near_m && p_CS.z() <= focus.far_m;
  }
  if (view->clear + view->outside < view->samples) std::fill(hits->begin(), hits->end(), 0);
}

}  // namespace

Blocker FrameView::TopKind() const {
  const auto most = std::max_element(blocked.begin(), blocked.end());
  return *most > 0 ? static_cast<Blocker>(most - blocked.begin()) : Blocker::kNone;
}

bool AsksForHands(const Shot& shot) {
  return std::any_of(shot.subjects.begin(), shot.subjects.end(), [](const Subject& s) { return s.kind == SubjectKind::kHands; });
}

FrameRange FramesOf(const Take& take, size_t intent) {
  const auto first_at = [&](double t_s) {
    const double frame = std::ceil((t_s - kTimeSlack_s) * take.id.frame_hz);
    return std::min(take.frames.size(), static_cast<size_t>(std::clamp(frame, 0.0, 1e15)));
  };
  const bool last = intent + 1 == take.intents.size();
  const size_t begin = first_at(take.intents[intent].start_s);
  const size_t end = first_at(take.intents[intent].end_s);
  return {begin, last ? end : std::min(end, std::max(begin, first_at(take.intents[intent + 1].start_s)))};
}

FrameViewer::FrameViewer(const Take& take, const Tolerances& tolerances) : take_(&take), tolerances_(tolerances), scene_(take) {
  for (int body = 0; body < scene_.size(); ++body) names_.push_back(scene_.NameOf(body));
  hits_.assign(names_.size(), 0);
}

FrameView FrameViewer::View(size_t i) {
  FrameView view;
  for (size_t n = 0; n < take_->intents.size(); ++n) {
    const FrameRange range = FramesOf(*take_, n);
    if (i < range.begin || i >= range.end) continue;
    const TimedIntent& intent = take_->intents[n];
    const TakeFrame& frame = take_->frames[i];
    view.intent = static_cast<int>(n);
    view.scored = static_cast<double>(i) / take_->id.frame_hz >= intent.start_s + tolerances_.settle_s - kTimeSlack_s;
    SubjectSamples(*take_, frame, intent.shot, &samples_);
    view.subject = MeasureSubject(*take_, intent.shot, samples_);
    view.framing =
        MeasureFraming(take_->camera, frame.X_WC, frame.lens, frame.person.q_WT, intent.shot, view.subject, tolerances_);
    if (!view.scored) return view;
    scene_.SetFrame(frame);
    Look(*take_, frame, scene_, samples_, AsksForHands(intent.shot), &hits_, &view);
    return view;
  }
  return view;
}

Footage::Footage(const Take& take, const Tolerances& tolerances) : take_(&take), tolerances_(tolerances) {
  RequireWhole(take);
  path_ = MeasurePath(take);
  FrameViewer viewer(take, tolerances);
  names_ = viewer.names();
  frames_.reserve(take.frames.size());
  for (size_t i = 0; i < take.frames.size(); ++i) frames_.push_back(viewer.View(i));
}

}  // namespace dryrig
