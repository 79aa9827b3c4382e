#include "sim/lens.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace dryrig {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

// Side of a pixel on the sensor: the image is the largest part of the sensor that has its aspect.
double PixelPitch_m(const CameraBody& camera) {
  return std::min(camera.sensor_width_m / camera.width_px, camera.sensor_height_m / camera.height_px);
}

}  // namespace

std::optional<ImagePoint> Project(const CameraBody& camera, const LensState& lens, const Eigen::Vector3d& p_C) {
  if (!(p_C.z() > 0)) return std::nullopt;
  const double heights = lens.focal_m / (PixelPitch_m(camera) * camera.height_px);
  return ImagePoint(heights * p_C.x() / p_C.z(), heights * p_C.y() / p_C.z());
}

std::optional<Eigen::Vector2d> ProjectPx(const CameraBody& camera, const LensState& lens, const Eigen::Vector3d& p_C) {
  const std::optional<ImagePoint> at = Project(camera, lens, p_C);
  if (!at) return std::nullopt;
  return Eigen::Vector2d(at->x() * camera.height_px + 0.5 * (camera.width_px - 1),
                         at->y() * camera.height_px + 0.5 * (camera.height_px - 1));
}

bool InFrame(const CameraBody& camera, const ImagePoint& at) {
  return std::abs(at.x()) <= 0.5 * camera.aspect() && std::abs(at.y()) <= 0.5;
}

double FrameHeights(const CameraBody& camera, const LensState& lens, double length_m, double z_m) {
  return lens.focal_m / (PixelPitch_m(camera) * camera.height_px) * length_m / z_m;
}

double VerticalFov_rad(const CameraBody& camera, double focal_m) {
  return 2 * std::atan(PixelPitch_m(camera) * camera.height_px / (2 * focal_m));
}

double HorizontalFov_rad(const CameraBody& camera, double focal_m) {
  return 2 * std::atan(PixelPitch_m(camera) * camera.width_px / (2 * focal_m));
}

double Hyperfocal_m(double focal_m, double f_number, double circle_m) {
  return focal_m * focal_m / (f_number * circle_m) + focal_m;
}

DepthOfField FieldInFocus(const CameraBody& camera, const LensState& lens) {
  const double f = lens.focal_m;
  const double s = lens.focus_m;
  const double H = Hyperfocal_m(f, camera.f_number, camera.circle_of_confusion_m);
  if (std::isinf(s)) return {H - f, kInfinity};
  return {s * (H - f) / (H + s - 2 * f), s < H ? s * (H - f) / (H - s) : kInfinity};
}

LensState StepLens(const CameraBody& camera, const LensState& now, double focal_wish_m, double focus_wish_m, double dt_s) {
  const auto focal_in_range = [&](double f) { return std::clamp(f, camera.focal_min_m, camera.focal_max_m); };
  const auto focus_in_range = [&](double s) { return std::clamp(s, camera.focus_nearest_m, kFocusFarthest_m); };
  LensState next{focal_in_range(focal_wish_m), focus_in_range(focus_wish_m)};  // a wish within one step is met exactly

  const double focal = focal_in_range(now.focal_m);
  const double octaves = std::log2(next.focal_m / focal);
  const double most_octaves = camera.zoom_octaves_per_s * dt_s;
  if (std::abs(octaves) > most_octaves) next.focal_m = focal_in_range(focal * std::exp2(std::copysign(most_octaves, octaves)));

  const double focus = focus_in_range(now.focus_m);
  const double dioptres = 1 / next.focus_m - 1 / focus;
  const double most_dioptres = camera.focus_dioptres_per_s * dt_s;
  if (std::abs(dioptres) > most_dioptres) next.focus_m = focus_in_range(1 / (1 / focus + std::copysign(most_dioptres, dioptres)));
  return next;
}

}  // namespace dryrig
