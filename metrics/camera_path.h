#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "sim/take.h"

namespace dryrig {

inline constexpr double kPathCutoff_hz = 10;
inline constexpr double kMovingSpeed_mps = 0.005;
inline constexpr double kRestingSpeed_mps = kMovingSpeed_mps / 2;
inline constexpr double kLeastMove_s = 0.3, kLeastPause_s = 0.3;

/// The camera's motion after the one low-pass (Gaussian, linear phase, -3 dB at 10 Hz), at physics rate. Element i belongs to
/// tick first + i; the ends, where the filter does not fit, are left out. Empty for a take shorter than the filter.
struct CameraPath {
  double rate_hz = 0;
  size_t first = 0;
  std::vector<double> speed_mps, jerk_mps3, angular_jerk_rps3;  // magnitudes, in W's axes

  size_t size() const { return speed_mps.size(); }
};
CameraPath MeasurePath(const Take& take);

/// Elements [begin, end) of a path: from the first to the last above 5 mm/s, for 0.3 s or longer, with no pause between, which is
/// 0.3 s below half that speed. A dip that just touches 5 mm/s at one physics rate must not split a move that is whole at another.
struct CameraMove {
  size_t begin, end;
};
std::vector<CameraMove> FindMoves(const CameraPath& path);

}  // namespace dryrig
