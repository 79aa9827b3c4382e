#pragma once

#include "policies/view_solver.h"

namespace dryrig {

/// A camera that finds one posture before the take and keeps it: what tripod and topdown share.
class FixedView {
 public:
  /// `picture` is what to film for good.
  void Reset(const Stage& stage, const WantedPicture& picture);
  /// Stay there; in focus at `focus_W`.
  Move Stay(const Observation& seen, const Eigen::Vector3d& focus_W, const Shot& chosen) const;

 private:
  const Stage* stage_ = nullptr;
  WantedPicture picture_;
  ViewSolver::Result view_;
};

}  // namespace dryrig
