#pragma once

#include <Eigen/Geometry>
#include <optional>

#include "scenes/camera.h"
#include "sim/lens.h"

namespace dryrig {

/// Where a picture is drawn from: a pinhole without distortion. C looks along +z, x right, y down.
struct View {
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
  double tan_half_height = 0.4;  // half the picture's height at depth 1
  double aspect = 16.0 / 9;      // width over height
};

/// What the lens sees, framed exactly as `Project` in sim/lens.h has it.
View LensView(const CameraBody& camera, const LensState& lens, const Eigen::Isometry3d& X_WC);

/// An observer who circles a point; never upside down.
struct Orbit {
  Eigen::Vector3d p_WTarget{0, 0.2, 0.9};
  double azimuth_rad = 0.6;     // 0: from behind the bench, looking at the instructor; positive: from the observer's right
  double elevation_rad = 0.35;  // in ±1.5
  double distance_m = 2.8;      // in [0.2, 20]

  void Turn(double azimuth_rad, double elevation_rad);
  void Pan(double right_frame_heights, double down_frame_heights);  // what is seen moves with the hand
  void Zoom(double factor);                                         // of the distance
};
View RoomView(const Orbit& orbit, double aspect);

/// Pixel of a point in a picture of this size, (0, 0) the picture's top left corner; none behind the observer.
std::optional<Eigen::Vector2d> ToPixel(const View& view, const Eigen::Vector3d& p_W, int width, int height);

}  // namespace dryrig
