#include "policies/camera_operator.h"

#include <algorithm>
#include <cmath>

#include "sim/lens.h"

namespace dryrig {

namespace {

constexpr double kFree = 6;             // squared guard residuals that a path may pass with: about 50 mm short of the clearance
constexpr double kDanger = 9;           // ... and from which on a posture is left at once
constexpr double kForesight_s = 0.25;   // how far ahead the arm's own motion is checked
constexpr double kSearchEvery_s = 1.0;  // a poor shot is sought anew so often
constexpr double kPoor = 0.3;           // squared tolerances from which on a shot is poor
constexpr double kGain = 0.15;          // squared tolerances by which a new posture must be better
constexpr double kArrived_rad = 0.2;
constexpr int kHoldSteps = 2;
constexpr size_t kMostVias = 10;

}  // namespace

void CameraOperator::Reset(const Stage& stage) {
  stage_ = &stage;
  solver_ = std::make_unique<ViewSolver>(stage, config_.view);
  goal_ = {};
  via_.resize(0);
  searched_s_ = -1e9;
  started_ = false;
}

Move CameraOperator::Film(const Observation& seen, const SceneFilter& scene, const Shot& shot, const HandsInUse& hands) {
  const bool cut = !started_ || shot != shot_;
  const SubjectGeometry measured = MeasureTracked(shot, scene, stage_->bench, hands);
  const double frame_m = measured.extent_m / WantedFrameHeights(shot);
  if (cut)
    subject_.Reset(measured);
  else
    subject_.Update(measured, frame_m, config_.calm_s, scene.dt_s());
  const double turn = started_ ? 1 - std::exp(-scene.dt_s() / config_.view_calm_s) : 1;
  q_WT_ = q_WT_.slerp(turn, scene.q_WT()).normalized();
  shot_ = shot;
  started_ = true;

  const WantedPicture picture = PictureFor(shot, subject_.now(), q_WT_, stage_->camera.aspect());
  GuessPerson(scene, &person_);
  const bool poor = goal_.cost > kPoor && seen.t_s - searched_s_ > kSearchEvery_s && via_.size() == 0;
  if (cut || poor) {
    const ViewSolver::Result found = solver_->Search(picture, person_, seen.arm.q, config_.travel_price);
    if (cut || found.cost < goal_.cost - kGain) {
      goal_ = found;
      ChooseVia(seen.arm.q);
    }
    searched_s_ = seen.t_s;
  } else {
    goal_ = solver_->Improve(picture, person_, goal_.q, goal_.q, kHoldSteps);
  }

  Move move;
  move.motion = JointTarget{Step(seen, picture)};
  // Focus and zoom go with the camera as it stands, not as it will.
  const Eigen::Vector3d p_C = seen.arm.X_WC.inverse() * subject_.now().centre_W;
  const double depth_m = std::max(p_C.z(), stage_->camera.focus_nearest_m);
  move.focus_m = depth_m;
  move.focal_m = solver_->FocalFor(picture, depth_m);
  move.chosen = shot;
  return move;
}

void CameraOperator::ChooseVia(const Eigen::VectorXd& q) {
  via_.resize(0);
  if (solver_->TooNearOnPath(person_, q, goal_.q) < kFree) return;
  std::vector<std::pair<double, const Eigen::VectorXd*>> order;
  for (const Eigen::VectorXd& posture : solver_->postures()) {
    order.emplace_back(solver_->Travel_s(q, posture) + solver_->Travel_s(posture, goal_.q), &posture);
  }
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  double best = solver_->TooNearOnPath(person_, q, goal_.q);
  for (size_t i = 0; i < std::min(kMostVias, order.size()) && best > kFree; ++i) {
    const Eigen::VectorXd& posture = *order[i].second;
    const double worst = std::max({solver_->TooNearOnPath(person_, q, posture), solver_->TooNear(person_, posture),
                                   solver_->TooNearOnPath(person_, posture, goal_.q)});
    if (worst < best) best = worst, via_ = posture;
  }
}

Eigen::VectorXd CameraOperator::Step(const Observation& seen, const WantedPicture& picture) {
  const Eigen::VectorXd& q = seen.arm.q;
  if (via_.size() > 0) {
    const bool there = (q - via_).cwiseAbs().maxCoeff() < kArrived_rad;
    if (there || solver_->TooNearOnPath(person_, q, goal_.q) < kFree) via_.resize(0);
  }
  const Eigen::VectorXd& target = via_.size() > 0 ? via_ : goal_.q;
  const Eigen::VectorXd ahead = solver_->Clamped(q + kForesight_s * seen.arm.qd);
  const double danger = solver_->TooNear(person_, ahead);
  if (danger > kDanger && danger > solver_->TooNear(person_, target)) {
    return solver_->Improve(picture, person_, q, q, kHoldSteps).q;
  }
  return target;
}

}  // namespace dryrig
