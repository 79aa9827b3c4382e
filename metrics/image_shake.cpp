#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "metrics/compute.h"
#include "metrics/filter.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

constexpr double kShakeAbove_hz = 2;  // slower motion is camera movement
constexpr double kNearestDepth_m = 0.05;

/// What an image shows of a point at the subject's distance, between two frames linearly.
struct Magnification {
  double angle_heights;  // frame heights a radian
  double depth_m;
};

/// Track of the image of a world-fixed point on the axis: per tick its motion since the last, summed. A point that leaves is
/// replaced by the next on the axis without a jump.
void ImageTrack(const Footage& footage, const std::vector<Magnification>& frames, std::vector<double>* x,
                std::vector<double>* y) {
  const Take& take = footage.take();
  x->assign(take.ticks.size(), 0);
  y->assign(take.ticks.size(), 0);
  for (size_t i = 1; i < take.ticks.size(); ++i) {
    const double at = (static_cast<double>(i) - 0.5) / take.id.physics_hz * take.id.frame_hz;
    const size_t k = std::min(static_cast<size_t>(at), frames.size() - 1);
    const size_t next = std::min(k + 1, frames.size() - 1);
    const double share = std::min(1.0, at - static_cast<double>(k));
    const double angle_heights = (1 - share) * frames[k].angle_heights + share * frames[next].angle_heights;
    const double depth_m = (1 - share) * frames[k].depth_m + share * frames[next].depth_m;

    const TakeTick& before = take.ticks[i - 1];
    const TakeTick& now = take.ticks[i];
    const Eigen::Vector3d moved_C = before.q_WC.conjugate() * (now.p_WC - before.p_WC);
    Eigen::Quaterniond turn_C = before.q_WC.conjugate() * now.q_WC;
    if (turn_C.w() < 0) turn_C.coeffs() *= -1;
    // Small turns: the rotation vector is twice the quaternion's vector part.
    (*x)[i] = (*x)[i - 1] + angle_heights * (-moved_C.x() / depth_m - 2 * turn_C.y());
    (*y)[i] = (*y)[i - 1] + angle_heights * (-moved_C.y() / depth_m + 2 * turn_C.x());
  }
}

/// One a frame. A frame without a subject keeps the depth of the last one that had one, before all of them the first one's.
std::vector<Magnification> Magnifications(const Footage& footage) {
  const Take& take = footage.take();
  const auto& views = footage.frames();
  const auto depth_at = [&](size_t i) { return (take.frames[i].X_WC.translation() - views[i].subject.centre_W).norm(); };
  const auto first = std::find_if(views.begin(), views.end(), [](const FrameView& view) { return view.intent >= 0; });
  double depth_m = first == views.end() ? 1 : depth_at(static_cast<size_t>(first - views.begin()));
  std::vector<Magnification> out;
  for (size_t i = 0; i < views.size(); ++i) {
    if (views[i].intent >= 0) depth_m = depth_at(i);
    out.push_back({FrameHeights(take.camera, take.frames[i].lens, 1, 1), std::max(kNearestDepth_m, depth_m)});
  }
  return out;
}

}  // namespace

Score ImageShake(const Footage& footage) {
  const Take& take = footage.take();
  Series series{take.id.physics_hz, std::vector<double>(take.ticks.size(), kGap)};
  const bool asked = std::any_of(footage.frames().begin(), footage.frames().end(), [](const FrameView& v) { return v.scored; });
  if (!asked || take.ticks.empty()) return MakeScore(std::nullopt, std::move(series), Worst::kHighest);

  std::vector<double> x, y;
  ImageTrack(footage, Magnifications(footage), &x, &y);
  const std::vector<double> weights = GaussianDerivative(0, kShakeAbove_hz, take.id.physics_hz);
  const std::vector<double> slow_x = ConvolveInside(weights, x), slow_y = ConvolveInside(weights, y);
  const size_t first = weights.size() / 2;
  for (size_t i = 0; i < slow_x.size(); ++i) {
    const double frame = (static_cast<double>(first + i) + 0.5) / take.id.physics_hz * take.id.frame_hz;
    const size_t k = std::min(static_cast<size_t>(frame), footage.frames().size() - 1);
    if (!footage.frames()[k].scored) continue;
    series.values[first + i] = std::hypot(x[first + i] - slow_x[i], y[first + i] - slow_y[i]);
  }
  const auto value = RmsOf(series.values);
  const auto most = GreatestOf(series.values);
  return MakeScore(value, std::move(series), Worst::kHighest, most ? fmt::format("{:.2g} frame heights", *most) : "");
}

}  // namespace dryrig
