#pragma once

#include <Eigen/Geometry>
#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// The camera as tracked from outside the arm: poses of C in W, or of a body fixed to the camera.
struct CameraTrack {
  std::string name;
  std::vector<double> t_s;  // strictly increasing
  std::vector<Eigen::Isometry3d> X_WC;
  double rate_hz = 0;
  std::vector<std::string> notes;
};

/// CSV with the columns t_s (or t_ms), x_m, y_m, z_m (or x_mm, ...), qx, qy, qz, qw. Rows without whole numbers are left out,
/// with a note. @throws InputError (file:line): no quaternion, metres that can only be millimetres, time that goes back, too few
/// rows.
CameraTrack ParseCameraTrack(std::string_view text, const std::string& file_name);

/// Between two poses: place on the straight way, rotation on the shortest arc; before the first and after the last those.
/// @pre two poses at least.
Eigen::Isometry3d TrackedAt(const CameraTrack& track, double t_s);

}  // namespace dryrig
