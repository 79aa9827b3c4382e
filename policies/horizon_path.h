#pragma once

#include <optional>
#include <vector>

#include "policies/jerk_programme.h"
#include "policies/still_guard.h"
#include "policies/view_solver.h"
#include "sim/joint_brake.h"

namespace dryrig {

struct HorizonTuning {
  double jerk_price = 0.04;
  double turn_lever_m = 0.3;
  double far_off = 6;
  double goal_pull = 4;
  double least_gap_m = 0.3;
  double trunk_more_m = 0.2;
  double lead_s = 0.2;
  double pace = 1;

  void Visit(auto&& v) {
    v("jerk_price", "s6/m2", jerk_price, 1e-5, 10, "squared tolerances that a squared m/s3 of the camera's jerk is worth");
    v("turn_lever_m", "m", turn_lever_m, 0, 2, "a radian of the camera's turning counts as so much of its way");
    v("far_off", "tolerances", far_off, 0.5, 20, "error of a picture from which on a little more of it counts ever less");
    v("goal_pull", "1/rad2", goal_pull, 0.01, 100, "squared tolerances that a radian off the posture sought is worth");
    v("least_gap_m", "m", least_gap_m, 0, 1, "distance from a person, as foreseen, that no plan goes below where it need not");
    v("trunk_more_m", "m", trunk_more_m, 0, 1, "the same for head and trunk: so much more");
    v("lead_s", "s", lead_s, 0, 0.5, "of the arm's lag behind a moving posture, made up for");
    v("pace", "1", pace, 0.1, 1, "share of the joints' speeds, accelerations and jerks that is used");
  }
};

/// What is expected at the ends of a JerkProgramme's blocks.
struct Outlook {
  std::array<WantedPicture, JerkProgramme::kBlocks> pictures;
  std::array<PersonGuess, JerkProgramme::kBlocks> people;
};

/// The arm's way over the coming two seconds, planned anew at each tick from where the last plan has got to: the pictures'
/// criteria at each time, linearised about the last plan, against the camera's jerk, under the joints' limits (one Gauss–Newton
/// step a tick: M. Diehl, H. G. Bock and J. P. Schlöder, "A real-time iteration scheme for nonlinear optimization in optimal
/// feedback control", SIAM J. Control Optim. 43 (2005), from memory). Keeps position, speed and acceleration of its own, from
/// which every joint can stop inside its limits at all times.
class HorizonPath {
 public:
  /// Solver and stage outlive the path.
  void Reset(const ViewSolver& solver, const Stage& stage, const HorizonTuning& tuning);
  /// A new posture is sought: is there a way round where the straight path comes too near?
  void Plan(const Eigen::VectorXd& goal, const PersonGuess& person);
  /// One tick of dt_s; `q` is measured and only used at the start. `rounds`: of linearisation. Answers the posture to command.
  Eigen::VectorXd Step(const Eigen::VectorXd& q, const Eigen::VectorXd& goal, const Outlook& outlook, int rounds, double dt_s);

  /// Ends of the blocks, s; none before the first Step with a dt_s.
  const JerkProgramme* programme() const { return programme_ ? &*programme_ : nullptr; }
  /// Where the way has got to, with speeds and accelerations; empty before it has begun.
  JerkProgramme::State now() const;
  bool travelling() const { return far_ > 0.25; }

 private:
  void AddPictures(const Eigen::VectorXd& goal, const Outlook& outlook, const std::vector<Eigen::VectorXd>& about);

  const ViewSolver* solver_ = nullptr;
  const Stage* stage_ = nullptr;
  HorizonTuning tuning_;
  std::optional<StillGuard> still_;
  std::optional<JerkProgramme> programme_;
  JerkProgramme::Bounds bounds_;
  std::vector<JointRail> rails_;
  JerkProgramme::State planned_from_;  // the last plan: its start and jerks
  JerkProgramme::Blocks jerks_;
  Eigen::VectorXd via_;  // posture to pass first; empty: none
  double far_ = 0;
};

}  // namespace dryrig
