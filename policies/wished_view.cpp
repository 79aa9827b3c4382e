#include "policies/wished_view.h"

#include <algorithm>
#include <cmath>

#include "sim/lens.h"

namespace dryrig {

namespace {

constexpr double kWiderTime_s = 1.0;
constexpr double kMostOfIt = 0.95;  // share of what is seen of the hands that shall be sharp
constexpr double kFocusTime_s = 0.15, kFocusEdge_m = 0.02;

bool OfHands(const Shot& shot) {
  return shot.subjects.front().kind == SubjectKind::kHands;
}

}  // namespace

void WishedView::Reset(const Stage& stage) {
  stage_ = &stage;
  started_ = false;
}

const WantedPicture& WishedView::Update(const Observation& seen, const SceneFilter& scene, const Shot& shot,
                                        const HandsInUse& hands) {
  cut_ = !started_ || shot != shot_;
  measured_ = MeasureTracked(shot, scene, stage_->bench, hands);
  frame_m_ = measured_.extent_m / WantedFrameHeights(shot);
  dt_s_ = scene.dt_s();
  if (cut_)
    subject_.Reset(measured_);
  else
    subject_.Update(measured_, frame_m_, config_.calm_s, dt_s_);
  const double turn = started_ ? 1 - std::exp(-scene.dt_s() / config_.view_calm_s) : 1;
  q_WT_ = q_WT_.slerp(turn, scene.q_WT()).normalized();
  const bool was_of_hands = started_ && OfHands(shot_);
  shot_ = shot;
  started_ = true;

  picture_ = PictureFor(shot, subject_.now(), q_WT_, stage_->camera.aspect());
  if (cut_ && !(OfHands(shot) && was_of_hands)) hand_view_.Reset();
  if (OfHands(shot)) {
    const double far_m = FrameHeights(stage_->camera, seen.lens, picture_.extent_m, 1) / picture_.frame_heights;
    hand_view_.Turn(scene, hands, far_m, config_.hands_price, &picture_);
    const double wider = std::max(SharpShare(seen, scene, picture_, hands), std::exp2(-config_.sharp_octaves));
    wider_ += (cut_ ? 1 : 1 - std::exp(-scene.dt_s() / kWiderTime_s)) * (wider - wider_);
    picture_.frame_heights *= wider_;
  }
  return picture_;
}

void WishedView::Foresee(std::span<const double> after_s, const std::function<Eigen::Vector3d(double)>& shift_W,
                         std::span<WantedPicture> out) const {
  CalmSubject subject = subject_;
  double t_s = 0;
  for (size_t k = 0; k < after_s.size(); ++k) {
    for (; dt_s_ > 0 && t_s + 0.5 * dt_s_ < after_s[k]; t_s += dt_s_) {
      SubjectGeometry then = measured_;
      then.centre_W += shift_W(t_s + dt_s_);
      subject.Update(then, frame_m_, config_.calm_s, dt_s_);
    }
    out[k] = picture_;
    out[k].centre_W = subject.now().centre_W;
    out[k].extent_m = subject.now().extent_m;
  }
}

// Focus and zoom go with the camera as it stands, not as it will.
double WishedView::Depth_m(const Observation& seen) const {
  return std::max((seen.arm.X_WC.inverse() * subject_.now().centre_W).z(), stage_->camera.focus_nearest_m);
}

double WishedView::Focus_m(const Observation& seen, const SceneFilter& scene, const HandsInUse& hands) {
  const double sharp_m = OfHands(shot_) ? FocusDepth(seen, scene, hands) : Depth_m(seen);
  focus_m_ += (cut_ ? 1 : 1 - std::exp(-scene.dt_s() / kFocusTime_s)) * (sharp_m - focus_m_);
  return focus_m_;
}

// How much of the wanted size leaves the depth of field deep enough for the hands, at most 1. The field grows with the square of
// the frame's height at the subject.
double WishedView::SharpShare(const Observation& seen, const SceneFilter& scene, const WantedPicture& picture,
                              const HandsInUse& hands) const {
  const bool none = !hands[kLeft] && !hands[kRight];
  std::vector<std::pair<double, double>> points;  // place along the view, weight
  double total = 0;
  for (const Side side : {kLeft, kRight}) {
    if (!none && !hands[side]) continue;
    for (int k = 0; k < kHandLandmarks; ++k) {
      const double weight = 0.1 + hand_view_.Seen(HandPoint(side, k));
      points.emplace_back((scene.HandCentre(side) + scene.HandShape(side, k)).dot(picture.to_camera_W), weight);
      total += weight;
    }
  }
  std::sort(points.begin(), points.end());
  // The shortest stretch that holds most of the weight.
  double needed_m = 1e9, sum = 0;
  for (size_t first = 0, last = 0; first < points.size(); sum -= points[first++].second) {
    while (last < points.size() && sum < kMostOfIt * total) sum += points[last++].second;
    if (sum < kMostOfIt * total) break;
    needed_m = std::min(needed_m, points[last - 1].first - points[first].first);
  }
  const double focal_m = seen.lens.focal_m;
  const double far_m = FrameHeights(stage_->camera, seen.lens, picture.extent_m, 1) / picture.frame_heights;
  const DepthOfField field = FieldInFocus(stage_->camera, {focal_m, std::max(far_m, stage_->camera.focus_nearest_m)});
  return std::min(1.0, std::sqrt((field.far_m - field.near_m) / std::max(needed_m, 1e-3)));
}

// The distance that puts most of what is seen of the hands inside the depth of field.
double WishedView::FocusDepth(const Observation& seen, const SceneFilter& scene, const HandsInUse& hands) const {
  const Eigen::Isometry3d X_CW = seen.arm.X_WC.inverse();
  const bool none = !hands[kLeft] && !hands[kRight];
  std::array<std::pair<double, double>, 2 * kHandLandmarks> points;  // depth, weight
  size_t count = 0;
  double near_m = 1e9, far_m = 0;
  for (const Side side : {kLeft, kRight}) {
    if (!none && !hands[side]) continue;
    for (int k = 0; k < kHandLandmarks; ++k) {
      const double z = std::max((X_CW * scene.p_W(HandPoint(side, k))).z(), stage_->camera.focus_nearest_m);
      points[count++] = {z, 0.1 + hand_view_.Seen(HandPoint(side, k))};
      near_m = std::min(near_m, z), far_m = std::max(far_m, z);
    }
  }
  constexpr int kTries = 13;
  double best_m = near_m, most = -1;
  for (int k = 0; k < kTries; ++k) {
    const double focus_m = near_m + k * (far_m - near_m) / (kTries - 1);
    const DepthOfField sharp = FieldInFocus(stage_->camera, {seen.lens.focal_m, focus_m});
    double sum = 0;
    for (size_t i = 0; i < count; ++i) {
      const double inside = std::min(points[i].first - sharp.near_m, sharp.far_m - points[i].first);
      sum += points[i].second * std::clamp(0.5 + inside / kFocusEdge_m, 0.0, 1.0);
    }
    if (sum > most) most = sum, best_m = focus_m;
  }
  return best_m;
}

}  // namespace dryrig
