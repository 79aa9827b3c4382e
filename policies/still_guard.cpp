#include "policies/still_guard.h"

#include <algorithm>

#include "sim/distance.h"
#include "sim/kinematics.h"

namespace dryrig {

namespace {

constexpr int kFirstGuardedLink = 2;  // links before it stay where the mount is
constexpr double kWatched_m = 0.3;    // farther pairs are left alone
constexpr double kKept_m = 0.025;     // distance that is never given up
constexpr double kNearing_1_s =
    3.0;                           // speed of nearing for each metre beyond it: stops with 9/s² a metre, well inside the joints'
constexpr double kAtLimit = 0.04;  // rad, m: nearer a joint's limit counts as at it
constexpr int kSweeps = 4;         // over pairs that pull in different ways

}  // namespace

StillGuard::StillGuard(const Stage& stage) : stage_(&stage) {
  for (const ArmBody& body : ArmBodies(stage.arm)) {
    if (body.link >= kFirstGuardedLink) bodies_.push_back(body);
  }
  still_ = stage.bench.keep_out;
  still_.push_back(BenchTop(stage.bench));
}

std::vector<StillGuard::Near> StillGuard::NearPairs(const Eigen::VectorXd& q, double within_m) const {
  const Eigen::Isometry3d& X_WB = stage_->bench.X_WB;
  std::vector<Eigen::Isometry3d> X_BL;
  LinkPoses(stage_->arm, q, &X_BL);
  std::vector<Near> out;
  for (const ArmBody& moving : bodies_) {
    const Eigen::Isometry3d X_WS = X_WB * X_BL[static_cast<size_t>(moving.link)] * moving.body.X_LS;
    for (const Body& still : still_) {
      const double apart_m = (X_WS.translation() - still.X_LS.translation()).norm();
      if (apart_m - moving.body.shape.BoundingRadius() - still.shape.BoundingRadius() > within_m) continue;
      const Nearest nearest = Distance(moving.body.shape, X_WS, still.shape, still.X_LS);
      if (nearest.distance_m > within_m) continue;
      Eigen::Vector3d out_W = nearest.p_WA - nearest.p_WB;
      if (nearest.distance_m < 0) out_W = -out_W;
      if (out_W.norm() < 1e-9) continue;
      const Jacobian J = PointJacobian(stage_->arm, X_BL, moving.link, X_WB.inverse() * nearest.p_WA);
      out.push_back({nearest.distance_m, (X_WB.linear().transpose() * out_W.normalized()).transpose() * J.topRows<3>()});
    }
  }
  return out;
}

Eigen::VectorXd StillGuard::Slowed(const Eigen::VectorXd& q, Eigen::VectorXd v) const {
  const std::vector<Near> pairs = NearPairs(q, kWatched_m);
  // A joint at its limit cannot help by going beyond it.
  const auto held = [&](Eigen::Index i, double way) {
    const Joint& joint = stage_->arm.joints[static_cast<size_t>(i)];
    return !joint.continuous && (way < 0 ? q[i] < joint.lower + kAtLimit : q[i] > joint.upper - kAtLimit);
  };
  for (int sweep = 0; sweep < kSweeps; ++sweep) {
    for (Eigen::Index i = 0; i < v.size(); ++i) {
      if (!pairs.empty() && held(i, v[i])) v[i] = 0;
    }
    for (const Near& pair : pairs) {
      const double least = -kNearing_1_s * (pair.distance_m - kKept_m), opening = pair.opening.dot(v);
      if (opening >= least) continue;
      Eigen::RowVectorXd help = pair.opening;
      for (Eigen::Index i = 0; i < v.size(); ++i) {
        if (held(i, help[i])) help[i] = 0;
      }
      const double squared = help.squaredNorm();
      if (squared > 1e-9) v += (least - opening) / squared * help.transpose();
    }
  }
  return v;
}

double StillGuard::Gap_m(const Eigen::VectorXd& q) const {
  double least = 1;
  for (const Near& pair : NearPairs(q, least)) least = std::min(least, pair.distance_m);
  return least;
}

}  // namespace dryrig
