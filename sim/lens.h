#pragma once

#include <Eigen/Geometry>
#include <optional>

#include "scenes/camera.h"

namespace dryrig {

/// What the focus calls infinity, so that no infinite number is stored.
inline constexpr double kFocusFarthest_m = 1000;

/// The lens at an instant.
struct LensState {
  double focal_m = 0;
  double focus_m = 1;  // distance in focus, along z of C
};

/// Image point from the frame's centre in frame heights: x right in ±aspect/2, y down in ±1/2.
using ImagePoint = Eigen::Vector2d;

/// Pinhole image of p_C; none for z <= 0. The image is the largest part of the sensor that has its aspect.
std::optional<ImagePoint> Project(const CameraBody& camera, const LensState& lens, const Eigen::Vector3d& p_C);
/// The same in pixels, OpenCV's convention (integer = pixel's centre).
std::optional<Eigen::Vector2d> ProjectPx(const CameraBody& camera, const LensState& lens, const Eigen::Vector3d& p_C);
bool InFrame(const CameraBody& camera, const ImagePoint& at);
/// Frame heights that a length across the view at depth z_m takes.
double FrameHeights(const CameraBody& camera, const LensState& lens, double length_m, double z_m);
double VerticalFov_rad(const CameraBody& camera, double focal_m);
double HorizontalFov_rad(const CameraBody& camera, double focal_m);

/// Depth of field of a thin lens: near = s(H−f)/(H+s−2f), far = s(H−f)/(H−s), infinite from s >= H, with H = f²/(N·c)+f.
struct DepthOfField { double near_m, far_m; };
double Hyperfocal_m(double focal_m, double f_number, double circle_m);
DepthOfField FieldInFocus(const CameraBody& camera, const LensState& lens);

/// The lens one step on: zoom and focus move toward the wish at their own speeds, inside their ranges. A prime stays.
LensState StepLens(const CameraBody& camera, const LensState& now, double focal_wish_m, double focus_wish_m, double dt_s);

}  // namespace dryrig
