#pragma once

#include <memory>

#include "policies/picture.h"
#include "policies/view_solver.h"

namespace dryrig {

struct OperatorConfig {
  ViewTuning view;
  double calm_s = 0.7;        // time to follow a small change of the subject
  double view_calm_s = 0.6;   // time to follow the torso's turning
  double travel_price = 0.8;  // squared tolerances a second of travel is worth when a shot is chosen
  double pace = 1;            // share of the joints' speed used between shots

  void Visit(auto&& v) {
    view.Visit(v);
    v("calm_s", "s", calm_s, 0.1, 5, "time to follow a small change of the subject");
    v("view_calm_s", "s", view_calm_s, 0.1, 5, "time to follow the torso's turning");
    v("travel_price", "1/s", travel_price, 0, 10, "squared tolerances that a second of travel is worth between shots");
    v("pace", "1", pace, 0.1, 1, "share of the joints' speed used between shots");
  }
};

/// Films one shot after another: follows the subject calmly, finds the posture that frames it, gets there around the person.
/// Shared by every policy that thinks in shots; what to film is not its affair.
class CameraOperator {
 public:
  explicit CameraOperator(const OperatorConfig& config) : config_(config) {}

  void Reset(const Stage& stage);
  /// The Move toward `shot` at this tick. A shot equal to the last one is held, any other is cut to.
  Move Film(const Observation& seen, const SceneFilter& scene, const Shot& shot, const HandsInUse& hands);
  /// Framing error, in tolerances squared, of the posture being sought.
  double promise() const { return goal_.framing; }

 private:
  void ChooseVia(const Eigen::VectorXd& q);
  Eigen::VectorXd Step(const Observation& seen, const WantedPicture& picture);

  OperatorConfig config_;
  const Stage* stage_ = nullptr;
  std::unique_ptr<ViewSolver> solver_;
  PersonGuess person_;
  CalmSubject subject_;
  Eigen::Quaterniond q_WT_ = Eigen::Quaterniond::Identity();  // heading that views are asked from
  Shot shot_;
  ViewSolver::Result goal_;
  Eigen::VectorXd via_;  // posture to pass through first; empty: none
  double searched_s_ = -1e9;
  bool started_ = false;
};

}  // namespace dryrig
