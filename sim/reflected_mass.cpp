#include "sim/reflected_mass.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kMost = 1e6;

}  // namespace

double ReflectedMass_kg(const PointRows& J, const JointMatrix& M, const Eigen::Vector3d& n) {
  const JointVector row = J.transpose() * n;
  const double mobility = row.dot(M.llt().solve(row));
  return mobility > 1 / kMost ? 1 / mobility : kMost;
}

double PressForce_N(const PointRows& J, const JointVector& effort, const JointVector& bias, const Eigen::Vector3d& n) {
  const JointVector row = J.transpose() * n;
  double most = kMost;
  for (Eigen::Index j = 0; j < row.size(); ++j) {
    // Pressing with f along n takes row[j] * f of joint j beyond what it holds.
    const double room = row[j] > 0 ? effort[j] - bias[j] : effort[j] + bias[j];
    if (std::abs(row[j]) > 1e-9) most = std::min(most, std::max(0.0, room) / std::abs(row[j]));
  }
  return most;
}

}  // namespace dryrig
