#include "policies/fixed_view.h"

#include <algorithm>

namespace dryrig {

void FixedView::Reset(const Stage& stage, const WantedPicture& picture) {
  stage_ = &stage;
  picture_ = picture;
  ViewTuning tuning;
  tuning.posture = 0;
  const ViewSolver solver(stage, tuning);
  SceneFilter scene;  // somebody of middle height where an instructor would be
  scene.Reset(stage);
  PersonGuess person;
  GuessPerson(scene, 0, &person);
  view_ = solver.Search(picture, person, stage.arm.home, 0);
  view_ = solver.Improve(picture, person, view_.q, view_.q, 60);
}

Move FixedView::Stay(const Observation& seen, const Eigen::Vector3d& focus_W, const Shot& chosen) const {
  Move move;
  move.motion = JointTarget{view_.q};
  move.focal_m = view_.focal_m;
  move.focus_m = std::max((seen.arm.X_WC.inverse() * focus_W).z(), stage_->camera.focus_nearest_m);
  move.chosen = chosen;
  return move;
}

}  // namespace dryrig
