#pragma once

#include <memory>

#include "policies/arm_pilot.h"
#include "policies/posture_seeker.h"
#include "policies/view_solver.h"
#include "policies/wished_view.h"

namespace dryrig {

struct OperatorConfig {
  ViewTuning view;
  WishConfig wish;
  double travel_price = 0.8;
  double foresight_s = 0.45;
  double pace = 1;

  void Visit(auto&& v) {
    view.Visit(v);
    wish.Visit(v);
    v("travel_price", "1/s", travel_price, 0, 10, "squared tolerances that a second of travel is worth between shots");
    v("pace", "1", pace, 0.1, 1, "share of the joints' speeds and accelerations that is used");
    v("foresight_s", "s", foresight_s, 0, 2, "how far ahead moving hands and head are kept clear of");
  }
};

/// Films one shot after another: follows the subject calmly, finds the posture that frames it, gets there around the person.
/// Shared by every policy that thinks in shots; what to film is not its affair.
class CameraOperator {
 public:
  explicit CameraOperator(const OperatorConfig& config) : config_(config), view_(config.wish) {}

  void Reset(const Stage& stage);
  /// The Move toward `shot` at this tick. A shot equal to the last one is held, any other is cut to.
  Move Film(const Observation& seen, const SceneFilter& scene, const Shot& shot, const HandsInUse& hands);
  /// Framing error, in tolerances squared, of the posture being sought.
  double promise() const { return seeker_.goal().framing; }

 private:
  OperatorConfig config_;
  WishedView view_;
  std::unique_ptr<ViewSolver> solver_;
  PersonGuess person_;
  PostureSeeker seeker_;
  ArmPilot pilot_;
};

}  // namespace dryrig
