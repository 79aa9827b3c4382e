#include "policies/scene_filter.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kTheta = 0.62;  // memory of the g-h filter a sample; g and h are critically damped in it
constexpr double kGain = 1 - kTheta * kTheta;
constexpr double kRateGain = (1 - kTheta) * (1 - kTheta);
constexpr double kLead_s = 0.15;      // farthest prediction past the latest sample
constexpr double kLostDecay_s = 0.3;  // a lost point's speed dies out
constexpr double kShapeTime_s = 0.3;
constexpr double kTurnTime_s = 0.35;  // of torso and head orientation

double Blend(double dt_s, double time_s) {
  return 1 - std::exp(-dt_s / time_s);
}

}  // namespace

void SceneFilter::Reset(const Stage& stage) {
  *this = SceneFilter();
  // A person of middle height behind the front edge, hands on the bench.
  const double top = stage.bench.height_m;
  const Eigen::Vector3d trunk(0, -stage.bench.standoff_m - 0.1, top + 0.05);
  for (Filtered& point : points_) point.x = trunk;
  points_[kThorax].x = trunk + Eigen::Vector3d(0, 0, 0.45);
  points_[kHeadLow].x = trunk + Eigen::Vector3d(0, 0.03, 0.6);
  points_[kHeadHigh].x = trunk + Eigen::Vector3d(0, 0.03, 0.83);
  for (const Side side : {kLeft, kRight}) {
    const double x = side == kLeft ? -0.17 : 0.17;
    points_[static_cast<size_t>(side == kLeft ? kShoulderL : kShoulderR)].x = trunk + Eigen::Vector3d(x, 0, 0.42);
    points_[static_cast<size_t>(side == kLeft ? kElbowL : kElbowR)].x = trunk + Eigen::Vector3d(1.3 * x, 0.05, 0.15);
    points_[static_cast<size_t>(side == kLeft ? kWristL : kWristR)].x = {x, 0.08, top + 0.04};
    for (int k = 0; k < kHandLandmarks; ++k) {
      points_[static_cast<size_t>(HandPoint(side, k))].x = {x + 0.01 * ((k + 3) / 4 - 2), 0.08 + 0.04 * ((k + 3) % 4 + (k > 0)),
                                                            top + 0.04};
    }
  }
  for (size_t i = 0; i < now_.size(); ++i) now_[i] = points_[i].x;
  shape_.fill(Eigen::Vector3d::Zero());
  for (const Side side : {kLeft, kRight}) hands_[side].centre = points_[static_cast<size_t>(HandPoint(side, 9))].x;
}

void SceneFilter::Correct(Filtered* filtered, const Eigen::Vector3d& measured, double stamp_s) {
  const double dt = stamp_s - filtered->stamp_s;
  if (!filtered->started || dt > 0.5) {
    filtered->x = measured;
    filtered->v.setZero();
    filtered->started = true;
  } else {
    const Eigen::Vector3d off = measured - (filtered->x + filtered->v * dt);
    filtered->x += filtered->v * dt + kGain * off;
    filtered->v += kRateGain / dt * off;
  }
  filtered->stamp_s = stamp_s;
}

void SceneFilter::Update(const Observation& seen) {
  dt_s_ = started_ ? seen.t_s - t_s_ : 0;
  t_s_ = seen.t_s;
  const bool fresh = seen.person.stamp_s > last_stamp_s_;
  if (fresh) {
    last_stamp_s_ = seen.person.stamp_s;
    for (size_t i = 0; i < points_.size(); ++i) {
      if (seen.person.points[i].seen) Correct(&points_[i], seen.person.points[i].p_W, seen.person.stamp_s);
    }
  }
  for (size_t i = 0; i < points_.size(); ++i) {
    Filtered& point = points_[i];
    if (!seen.person.points[i].seen) point.v *= 1 - Blend(dt_s_, kLostDecay_s);
    now_[i] = point.x + point.v * std::clamp(t_s_ - point.stamp_s, 0.0, kLead_s);
  }
  for (const Side side : {kLeft, kRight}) UpdateHand(side, seen);

  const double blend = started_ ? Blend(dt_s_, kTurnTime_s) : 1;
  if (seen.person.seen) {
    q_WT_ = q_WT_.slerp(blend, seen.person.q_WT).normalized();
    q_WHd_ = q_WHd_.slerp(blend, seen.person.q_WHd).normalized();
  }
  head_height_m_ = seen.person.head_height_m;
  hand_length_m_ = seen.person.hand_length_m;

  props_.resize(seen.props.size());
  prop_filters_.resize(seen.props.size());
  for (size_t i = 0; i < props_.size(); ++i) {
    const TrackedProp& tracked = seen.props[i];
    PropEstimate& prop = props_[i];
    prop.name = tracked.name;
    prop.extent_m = tracked.extent_m;
    const double stamp_s = t_s_ - tracked.age_s;
    if (tracked.seen && (!prop.known || stamp_s > prop_filters_[i].stamp_s + 1e-6)) {
      Correct(&prop_filters_[i], tracked.p_WP, stamp_s);
      prop.known = true;
    }
    if (!prop.known) continue;
    if (!tracked.seen) prop_filters_[i].v *= 1 - Blend(dt_s_, kLostDecay_s);
    prop.p_WP = prop_filters_[i].x + prop_filters_[i].v * std::clamp(t_s_ - prop_filters_[i].stamp_s, 0.0, kLead_s);
    prop.v_WP = prop_filters_[i].v;
  }
  started_ = true;
}

void SceneFilter::UpdateHand(Side side, const Observation& seen) {
  const auto first = static_cast<size_t>(HandPoint(side, 0));
  Hand& hand = hands_[side];
  Eigen::Vector3d mean_v = Eigen::Vector3d::Zero();
  int delivered = 0;
  for (size_t i = first; i < first + kHandLandmarks; ++i) {
    if (!seen.person.points[i].seen) continue;
    ++delivered;
    mean_v += points_[i].v;
  }
  if (delivered > 0) {
    mean_v /= delivered;
    // Lost landmarks ride with the seen ones.
    for (size_t i = first; i < first + kHandLandmarks; ++i) {
      if (!seen.person.points[i].seen) points_[i].x += mean_v * dt_s_;
    }
  }
  const bool known = delivered > kHandLandmarks / 2;
  hand.age_s = known ? 0 : hand.age_s + dt_s_;
  if (known)
    hand.v = mean_v;
  else
    hand.v *= 1 - Blend(dt_s_, kLostDecay_s);
  hand.centre.setZero();
  for (size_t i = first; i < first + kHandLandmarks; ++i) hand.centre += now_[i] / kHandLandmarks;
  const double blend = started_ ? Blend(dt_s_, kShapeTime_s) : 1;
  for (size_t i = first; i < first + kHandLandmarks; ++i) {
    Eigen::Vector3d& shape = shape_[i - kHandL];
    if (known || !started_) shape += blend * (now_[i] - hand.centre - shape);
  }
}

int SceneFilter::FindProp(const std::string& name) const {
  for (size_t i = 0; i < props_.size(); ++i) {
    if (props_[i].name == name) return static_cast<int>(i);
  }
  return -1;
}

}  // namespace dryrig
