#pragma once

#include <Eigen/Core>
#include <filesystem>
#include <string>

namespace dryrig {

/// A camera body with its lens: pinhole, square pixels, principal point in the middle.
struct CameraBody {
  std::string name, title;
  double sensor_width_m = 0.0235, sensor_height_m = 0.0132;
  int width_px = 1920, height_px = 1080;
  double focal_min_m = 0.018, focal_max_m = 0.018;       // equal: a prime
  double zoom_octaves_per_s = 0;                         // |d log2 f / dt| at most; 0 for a prime
  double focus_nearest_m = 0.2;                          // from the optical centre
  double focus_dioptres_per_s = 4;                       // |d (1/s) / dt| at most
  double f_number = 4;
  double circle_of_confusion_m = 1.5e-5;
  double frame_rate_hz = 30;
  double mass_kg = 0.6;
  Eigen::Vector3d half_m{0.06, 0.04, 0.06};              // housing box, half extents in C's axes
  Eigen::Vector3d p_CHousing{0, 0, -0.05};               // its centre seen from C
  std::string text;

  double aspect() const { return double(width_px) / height_px; }
};

/// @throws InputError (file:line:column).
CameraBody ReadCamera(const std::filesystem::path& file);
CameraBody ParseCamera(const std::string& text, const std::string& file_name);

}  // namespace dryrig
