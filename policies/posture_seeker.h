#pragma once

#include "policies/view_solver.h"

namespace dryrig {

/// The posture that films a wanted picture: sought all over at a cut and again while it is poor, else improved a little each
/// tick.
class PostureSeeker {
 public:
  /// `travel_price`: squared tolerances that a second of travel is worth. The solver outlives the seeker.
  void Reset(const ViewSolver& solver, double travel_price);
  /// One tick, the arm's own way being at q. `settled`: it has got to the posture sought. True when another posture is sought
  /// now.
  bool Seek(const WantedPicture& picture, const PersonGuess& person, const Eigen::VectorXd& q, double t_s, bool cut,
            bool settled);
  const ViewSolver::Result& goal() const { return goal_; }

 private:
  const ViewSolver* solver_ = nullptr;
  double travel_price_ = 0;
  ViewSolver::Result goal_;
  double searched_s_ = -1e9;
};

}  // namespace dryrig
