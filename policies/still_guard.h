#pragma once

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <vector>

#include "scenes/stage.h"
#include "sim/clearance.h"

namespace dryrig {

/// Keeps the arm from striking what stands still: bench, shelves, keep-out zones. Exact distances between bodies.
/// A body may near another only as fast as it can still stop (velocity damper: B. Faverjon and P. Tournassoud, "A local based
/// approach for path planning of manipulators with a high number of degrees of freedom", ICRA 1987).
class StillGuard {
 public:
  /// The stage outlives the guard.
  explicit StillGuard(const Stage& stage);

  /// `v` changed as little as needed; rad/s (m/s for a sliding joint), as is `v`.
  Eigen::VectorXd Slowed(const Eigen::VectorXd& q, Eigen::VectorXd v) const;
  /// Least distance of any body that moves; m, negative inside. 1 m where nothing is that near.
  double Gap_m(const Eigen::VectorXd& q) const;

 private:
  struct Near {
    double distance_m;
    Eigen::RowVectorXd opening;  // of the distance by q
  };
  std::vector<Near> NearPairs(const Eigen::VectorXd& q, double within_m) const;

  const Stage* stage_;
  std::vector<ArmBody> bodies_;  // of links that can come near
  std::vector<Body> still_;      // in W
};

}  // namespace dryrig
