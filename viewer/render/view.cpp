#include "viewer/render/view.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dryrig {

namespace {

/// C at `p_W` looking along `forward_W`, level.
Eigen::Isometry3d LookAlong(const Eigen::Vector3d& p_W, const Eigen::Vector3d& forward_W) {
  const Eigen::Vector3d right_W = forward_W.cross(Eigen::Vector3d::UnitZ()).normalized();
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
  X_WC.linear() << right_W, forward_W.cross(right_W), forward_W;
  X_WC.translation() = p_W;
  return X_WC;
}

Eigen::Vector3d ForwardOf(const Orbit& orbit) {
  const double level = std::cos(orbit.elevation_rad);
  return {level * std::sin(orbit.azimuth_rad), -level * std::cos(orbit.azimuth_rad), -std::sin(orbit.elevation_rad)};
}

constexpr double kRoomTanHalfHeight = 0.36;  // 40 degrees, near a standard lens's

}  // namespace

View LensView(const CameraBody& camera, const LensState& lens, const Eigen::Isometry3d& X_WC) {
  // One frame height at depth 1 has this length.
  const double height = 1 / FrameHeights(camera, lens, 1, 1);
  return {X_WC, 0.5 * height, camera.aspect()};
}

void Orbit::Turn(double by_azimuth_rad, double by_elevation_rad) {
  azimuth_rad = std::remainder(azimuth_rad + by_azimuth_rad, 2 * std::numbers::pi);
  elevation_rad = std::clamp(elevation_rad + by_elevation_rad, -1.5, 1.5);
}

void Orbit::Pan(double right_frame_heights, double down_frame_heights) {
  const Eigen::Matrix3d R_WC = LookAlong(p_WTarget, ForwardOf(*this)).linear();
  const double height_m = 2 * kRoomTanHalfHeight * distance_m;
  p_WTarget -= height_m * (right_frame_heights * R_WC.col(0) + down_frame_heights * R_WC.col(1));
}

void Orbit::Zoom(double factor) {
  distance_m = std::clamp(distance_m * factor, 0.2, 20.0);
}

View RoomView(const Orbit& orbit, double aspect) {
  const Eigen::Vector3d forward_W = ForwardOf(orbit);
  return {LookAlong(orbit.p_WTarget - orbit.distance_m * forward_W, forward_W), kRoomTanHalfHeight, aspect};
}

std::optional<Eigen::Vector2d> ToPixel(const View& view, const Eigen::Vector3d& p_W, int width, int height) {
  const Eigen::Vector3d p_C = view.X_WC.inverse() * p_W;
  if (!(p_C.z() > 0)) return std::nullopt;
  const double right = p_C.x() / (p_C.z() * view.tan_half_height * view.aspect),
               down = p_C.y() / (p_C.z() * view.tan_half_height);
  return Eigen::Vector2d(0.5 * width * (1 + right), 0.5 * height * (1 + down));
}

}  // namespace dryrig
