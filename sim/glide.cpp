#include "sim/glide.h"

#include <Eigen/LU>

namespace dryrig {

Glide::Glide(int most_periods, double period_s) {
  // One period of unit length: x' = A x + B u, x = (q, v, a), u the change of acceleration, linear over the period.
  Eigen::Matrix3d A;
  A << 1, 1, 0.5, 0, 1, 1, 0, 0, 1;
  const Eigen::Vector3d B(1.0 / 6, 0.5, 1);
  const Eigen::Vector3d units(1 / (period_s * period_s), 1 / period_s, 1);
  gains_.assign(static_cast<size_t>(most_periods) + 1, Eigen::Vector3d::Zero());
  // With two periods left and one, a path that began as one of three or more needs only its velocity and acceleration.
  if (most_periods >= 1) gains_[1] = Eigen::Vector3d(0, 0, 1);
  if (most_periods >= 2) gains_[2] = Eigen::Vector3d(0, 1, 1.5).cwiseProduct(units);
  Eigen::Matrix3d gramian = Eigen::Matrix3d::Zero(), A_n = Eigen::Matrix3d::Identity();
  for (int n = 1; n <= most_periods; ++n) {
    const Eigen::Vector3d reach = A_n * B;  // of the first change, n - 1 periods on
    gramian += reach * reach.transpose();
    A_n = (A * A_n).eval();
    if (n < 3) continue;
    // Scaled to the whole duration, or the matrix is near singular for large n.
    const Eigen::Vector3d scale(1.0 / (n * n), 1.0 / n, 1);
    const Eigen::Matrix3d scaled = scale.asDiagonal() * gramian * scale.asDiagonal();
    const Eigen::Vector3d weights = scale.asDiagonal() * scaled.lu().solve(scale.asDiagonal() * reach);
    gains_[static_cast<size_t>(n)] = (A_n.transpose() * weights).cwiseProduct(units);
  }
}

}  // namespace dryrig
