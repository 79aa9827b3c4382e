#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "metrics/compute.h"
#include "metrics/summary.h"

namespace dryrig {

namespace {

constexpr double kDegrees = 180 / std::numbers::pi;
constexpr double kSteepest_deg = 60;  // nearer the vertical there is no horizon in the picture

}  // namespace

Score Roll(const Footage& footage) {
  const Take& take = footage.take();
  Series series = PerFrame(footage, [&](size_t i, const FrameView&) {
    const Eigen::Matrix3d R_WC = take.frames[i].X_WC.linear();
    if (std::abs(R_WC(2, 2)) >= std::sin(kSteepest_deg / kDegrees)) return kGap;
    // World's up in the image: up the frame, -y of C, when level; toward -x when the camera leans to its right.
    return std::abs(std::atan2(R_WC(2, 0), -R_WC(2, 1))) * kDegrees;
  });
  const auto value = RmsOf(series.values);
  const auto most = GreatestOf(series.values);
  return MakeScore(value, std::move(series), Worst::kHighest, most ? fmt::format("{:.3g}° off level", *most) : "");
}

Score PanSpeed(const Footage& footage) {
  const Take& take = footage.take();
  Series series = PerFrame(footage, [&](size_t i, const FrameView& view) {
    if (i == 0 || (view.intent >= 0 && !view.scored)) return kGap;
    const Eigen::Vector3d before = take.frames[i - 1].X_WC.linear().col(2), now = take.frames[i].X_WC.linear().col(2);
    return std::atan2(before.cross(now).norm(), before.dot(now)) * kDegrees * take.id.frame_hz;
  });
  const auto value = PercentileOf(series.values, 95);
  std::string what;
  if (const auto at = WorstIndex(series.values, Worst::kHighest)) {
    what = fmt::format("{:.3g} deg/s; a frame's width in 7 s is {:.3g}", series.values[*at],
                       HorizontalFov_rad(take.camera, take.frames[*at].lens.focal_m) * kDegrees / 7);
  }
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(what));
}

Score ZoomRate(const Footage& footage) {
  const Take& take = footage.take();
  Series series = PerFrame(footage, [&](size_t i, const FrameView&) {
    if (i == 0) return kGap;
    return std::abs(std::log2(take.frames[i].lens.focal_m / take.frames[i - 1].lens.focal_m)) * take.id.frame_hz;
  });
  const auto value = GreatestOf(series.values);
  std::string what;
  if (value && *value > 0) {
    what = fmt::format("{:.3g} octaves/s; the lens is rated {:.3g}", *value, take.camera.zoom_octaves_per_s);
  }
  return MakeScore(value, std::move(series), Worst::kHighest, std::move(what));
}

}  // namespace dryrig
