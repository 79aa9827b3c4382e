#include "policies/camera_operator.h"

namespace dryrig {

void CameraOperator::Reset(const Stage& stage) {
  view_.Reset(stage);
  solver_ = std::make_unique<ViewSolver>(stage, config_.view);
  seeker_.Reset(*solver_, config_.travel_price);
  pilot_.Reset(*solver_, stage, config_.pace);
}

Move CameraOperator::Film(const Observation& seen, const SceneFilter& scene, const Shot& shot, const HandsInUse& hands) {
  const WantedPicture& picture = view_.Update(seen, scene, shot, hands);
  GuessPerson(scene, config_.foresight_s, &person_);
  const Eigen::VectorXd q = pilot_.q().size() > 0 ? pilot_.q() : seen.arm.q;
  if (seeker_.Seek(picture, person_, q, seen.t_s, view_.cut(), !pilot_.travelling())) pilot_.Plan(seeker_.goal().q, person_);

  Move move;
  move.motion = JointTarget{pilot_.Step(seen.arm.q, seeker_.goal().q, person_, scene.dt_s())};
  move.focus_m = view_.Focus_m(seen, scene, hands);
  move.focal_m = solver_->FocalFor(picture, view_.Depth_m(seen));
  move.chosen = shot;
  return move;
}

}  // namespace dryrig
