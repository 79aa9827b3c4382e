#include "metrics/camera_path.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "metrics/filter.h"

namespace dryrig {

namespace {

using Channels = std::array<std::vector<double>, 3>;

std::vector<double> Magnitudes(const std::vector<double>& weights, const Channels& x) {
  Channels y;
  for (size_t c = 0; c < 3; ++c) y[c] = ConvolveInside(weights, x[c]);
  std::vector<double> out(y[0].size());
  for (size_t i = 0; i < out.size(); ++i) out[i] = std::sqrt(y[0][i] * y[0][i] + y[1][i] * y[1][i] + y[2][i] * y[2][i]);
  return out;
}

}  // namespace

CameraPath MeasurePath(const Take& take) {
  CameraPath path;
  path.rate_hz = take.id.physics_hz;
  if (take.ticks.size() < 2) return path;
  const size_t n = take.ticks.size();

  // Positions from the first one: the filter's weights sum to 0 only as far as rounding allows.
  Channels position, turning;
  for (size_t c = 0; c < 3; ++c) position[c].resize(n), turning[c].resize(n - 1);
  for (size_t i = 0; i < n; ++i) {
    const Eigen::Vector3d p = take.ticks[i].p_WC - take.ticks[0].p_WC;
    for (size_t c = 0; c < 3; ++c) position[c][i] = p[static_cast<int>(c)];
  }
  // Mean angular velocity between ticks i and i + 1, in W's axes.
  for (size_t i = 0; i + 1 < n; ++i) {
    Eigen::Quaterniond q = take.ticks[i + 1].q_WC * take.ticks[i].q_WC.conjugate();
    if (q.w() < 0) q.coeffs() *= -1;
    const double sine = q.vec().norm();
    const double angle_over_sine = sine > 1e-9 ? 2 * std::atan2(sine, q.w()) / sine : 2;
    for (size_t c = 0; c < 3; ++c) turning[c][i] = q.vec()[static_cast<int>(c)] * angle_over_sine * path.rate_hz;
  }

  const std::vector<double> first_derivative = GaussianDerivative(1, kPathCutoff_hz, path.rate_hz);
  path.first = first_derivative.size() / 2;
  path.speed_mps = Magnitudes(first_derivative, position);
  path.jerk_mps3 = Magnitudes(GaussianDerivative(3, kPathCutoff_hz, path.rate_hz), position);
  path.angular_jerk_rps3 = Magnitudes(GaussianDerivative(2, kPathCutoff_hz, path.rate_hz), turning);
  return path;
}

std::vector<CameraMove> FindMoves(const CameraPath& path) {
  std::vector<CameraMove> moves;
  size_t resting = 0;  // ticks of rest since the last move
  for (size_t i = 0; i < path.size(); ++i) {
    resting += path.speed_mps[i] <= kRestingSpeed_mps;
    if (path.speed_mps[i] <= kMovingSpeed_mps) continue;
    if (moves.empty() || static_cast<double>(resting) >= kLeastPause_s * path.rate_hz) moves.push_back({i, i});
    moves.back().end = i + 1;
    resting = 0;
  }
  std::erase_if(moves, [&](const CameraMove& m) { return static_cast<double>(m.end - m.begin) < kLeastMove_s * path.rate_hz; });
  return moves;
}

}  // namespace dryrig
