#pragma once

#include <memory>

#include "policies/arm_pilot.h"
#include "policies/hand_view.h"
#include "policies/picture.h"
#include "policies/view_solver.h"

namespace dryrig {

struct OperatorConfig {
  ViewTuning view;
  double calm_s = 0.7;
  double view_calm_s = 0.6;
  double travel_price = 0.8;
  double hands_price = 0.015;
  double sharp_octaves = 0.5;
  double foresight_s = 0.45;
  double pace = 1;

  void Visit(auto&& v) {
    view.Visit(v);
    v("calm_s", "s", calm_s, 0.1, 5, "time to follow a small change of the subject");
    v("view_calm_s", "s", view_calm_s, 0.1, 5, "time to follow the torso's turning");
    v("travel_price", "1/s", travel_price, 0, 10, "squared tolerances that a second of travel is worth between shots");
    v("hands_price", "1", hands_price, 0.01, 10, "share of the hands' landmarks that 15 deg off the wanted angle is worth");
    v("sharp_octaves", "octaves", sharp_octaves, 0, 1,
      "most that hands are filmed smaller than asked so that more of them is sharp");
    v("pace", "1", pace, 0.1, 1, "share of the joints' speeds and accelerations that is used");
    v("foresight_s", "s", foresight_s, 0, 2, "how far ahead moving hands and head are kept clear of");
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
  double SharpShare(const Observation& seen, const SceneFilter& scene, const WantedPicture& picture,
                    const HandsInUse& hands) const;
  double FocusDepth(const Observation& seen, const SceneFilter& scene, const HandsInUse& hands) const;

  OperatorConfig config_;
  const Stage* stage_ = nullptr;
  std::unique_ptr<ViewSolver> solver_;
  PersonGuess person_;
  CalmSubject subject_;
  HandView hand_view_;
  ArmPilot pilot_;
  Eigen::Quaterniond q_WT_ = Eigen::Quaterniond::Identity();  // heading that views are asked from
  Shot shot_;
  ViewSolver::Result goal_;
  double focus_m_ = 1, wider_ = 1;
  double searched_s_ = -1e9;
  bool started_ = false;
};

}  // namespace dryrig
