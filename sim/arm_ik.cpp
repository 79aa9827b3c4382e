#include "sim/arm_ik.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cmath>

namespace dryrig {

namespace {

using Matrix6 = Eigen::Matrix<double, 6, 6>;

constexpr double kMostStep = 0.35;                       // rad or m a joint an iteration: the linearisation holds about that far
constexpr double kSettledStep = 1e-6;                    // below this the posture has settled
constexpr double kDamping = 0.01, kLeastDamping = 1e-8;  // of JJᵀ, by the squared error (m²)
constexpr double kSpareGain = 0.1;                       // share of the way to the preferred posture an iteration
constexpr double kMostSpare = 0.02;                      // rad an iteration: the camera leaves its place by the square of it
// With the camera this near its place, a spare step this small is not worth moving for.
constexpr double kThere_m = 1e-5, kSpareSettled = 1e-3;

}  // namespace

ArmIk::ArmIk(const ArmModel& arm, const JointVector& lower, const JointVector& upper, const JointVector& preferred)
    : arm_(&arm), lower_(lower), upper_(upper), preferred_(preferred), posture_(arm.dof()) {}

ArmIk::Vector6 ArmIk::ErrorAt(const Eigen::Isometry3d& X_BC, const JointVector& q) {
  posture_ = q;
  LinkPoses(*arm_, posture_, &X_BL_);
  const Eigen::Isometry3d X_BNow = X_BL_.back() * arm_->X_EC;
  const Eigen::AngleAxisd turn(Eigen::Matrix3d(X_BC.linear() * X_BNow.linear().transpose()));
  Vector6 error;
  error << X_BC.translation() - X_BNow.translation(), kAimLever_m * turn.angle() * turn.axis();
  return error;
}

ArmIk::Residual ArmIk::ResidualAt(const Eigen::Isometry3d& X_BC, const JointVector& q) {
  const Vector6 error = ErrorAt(X_BC, q);
  return {error.head<3>().norm(), error.tail<3>().norm() / kAimLever_m};
}

JointVector ArmIk::StepFrom(const JointVector& q, const Vector6& error, double damping) const {
  const int n = arm_->dof();
  Jacobian J = PointJacobian(*arm_, X_BL_, n - 1, X_BL_.back() * arm_->X_EC.translation());
  J.bottomRows<3>() *= kAimLever_m;
  JointVector spare = JointVector::Zero(n);
  if (n > 6) {
    spare = kSpareGain * (preferred_ - q);
    spare *= std::min(1.0, kMostSpare / std::max(kMostSpare, spare.norm()));
  }
  JointVector step(n);
  std::array<bool, kMaxJoints> held{};
  for (int pass = 0; pass < n; ++pass) {
    Matrix6 A = J * J.transpose();
    A.diagonal().array() += damping;
    step = spare + J.transpose() * A.llt().solve(error - J * spare);
    // A joint at its bound that would leave it is held, and the others take over.
    bool more = false;
    for (int i = 0; i < n; ++i) {
      if (held[i] || !((q[i] <= lower_[i] && step[i] < 0) || (q[i] >= upper_[i] && step[i] > 0))) continue;
      held[i] = more = true;
      J.col(i).setZero();
      spare[i] = 0;
    }
    if (!more) break;
  }
  const double longest = step.cwiseAbs().maxCoeff();
  if (longest > kMostStep) step *= kMostStep / longest;
  return step;
}

bool ArmIk::Improve(const Eigen::Isometry3d& X_BC, int iterations, JointVector* q) {
  for (int iteration = 0; iteration < iterations; ++iteration) {
    const Vector6 error = ErrorAt(X_BC, *q);
    const JointVector before = *q;
    *q = (before + StepFrom(before, error, kLeastDamping + kDamping * error.squaredNorm())).cwiseMax(lower_).cwiseMin(upper_);
    const double moved = (*q - before).cwiseAbs().maxCoeff();
    if (moved < kSettledStep) return true;
    if (moved < kSpareSettled && error.norm() < kThere_m) return true;
  }
  return false;
}

JointVector ArmIk::Rates(const JointVector& q, const Vector6& twist_B) {
  posture_ = q;
  LinkPoses(*arm_, posture_, &X_BL_);
  Jacobian J = PointJacobian(*arm_, X_BL_, arm_->dof() - 1, X_BL_.back() * arm_->X_EC.translation());
  Vector6 wanted = twist_B;
  J.bottomRows<3>() *= kAimLever_m;
  wanted.tail<3>() *= kAimLever_m;
  Matrix6 A = J * J.transpose();
  A.diagonal().array() += 1e-4;
  return J.transpose() * A.llt().solve(wanted);
}

}  // namespace dryrig
