#pragma once

#include <Eigen/Core>

#include "policies/view_solver.h"

namespace dryrig {

/// Squared guard residuals that a path may pass with: 50 mm short of the clearance.
inline constexpr double kFreePath = 6;

/// A posture to pass first where the straight joint path from one posture to another comes too near person, bench or zones and
/// one of the solver's own postures leads well clear; empty: none.
Eigen::VectorXd WayRound(const ViewSolver& solver, const Eigen::VectorXd& from, const Eigen::VectorXd& goal,
                         const PersonGuess& person);

}  // namespace dryrig
