#pragma once

#include <Eigen/Core>
#include <optional>

#include "policies/still_guard.h"
#include "policies/view_solver.h"

namespace dryrig {

/// Brings the arm from where it is to a goal that may move and jump at any tick: all joints arrive together, well inside their
/// speeds and accelerations, the way bends around the person and stops short of what stands still. Keeps a way of its own
/// (position and speed) that it sends out a little ahead, since the tracker follows a moving posture late.
class ArmPilot {
 public:
  /// Solver and stage outlive the pilot.
  void Reset(const ViewSolver& solver, const Stage& stage, double pace);
  /// One tick of dt_s; `q` is measured and only used at the start. Answers the posture to command.
  Eigen::VectorXd Step(const Eigen::VectorXd& q, const Eigen::VectorXd& goal, const PersonGuess& person, double dt_s);

  /// Where the way has got to.
  const Eigen::VectorXd& q() const { return q_; }
  /// Not yet at the goal of the last Step.
  bool travelling() const { return far_ > 0.25; }
  /// A new goal: is there a way round for a straight path that comes too near?
  void Plan(const Eigen::VectorXd& goal, const PersonGuess& person);

 private:
  Eigen::VectorXd SpeedToward(const Eigen::VectorXd& target) const;

  const ViewSolver* solver_ = nullptr;
  const ArmModel* arm_ = nullptr;
  std::optional<StillGuard> still_;
  double pace_ = 1;
  Eigen::VectorXd q_, v_;
  Eigen::VectorXd via_;  // posture to pass first; empty: none
  double far_ = 0;
};

}  // namespace dryrig
