// Image-based visual servoing on both tracked hands (Chaumette & Hutchinson 2006, with depth from the tracker): the camera slides
// across its view until the hands stand in the middle and along it until they have the wanted size. Its direction of view is
// kept, but turns a little where the arm cannot slide far enough. Inside a dead band it rests.
//   [X] calm while the hands work in one place     [X] holds still while the hands are lost
//   [X] keeps camera and arm away from the person   [X] feeds back its own way, not the arm's shake
//   [ ] one shot for all: no face, no prop, no word
#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>

#include "policies/arm_pilot.h"
#include "policies/makers.h"
#include "policies/params.h"
#include "policies/picture.h"
#include "policies/view_solver.h"
#include "sim/arm_ik.h"
#include "sim/kinematics.h"
#include "sim/lens.h"

namespace dryrig {

namespace {

struct FollowConfig {
  double dead_band = 0.06;
  double gain_hz = 0.35;
  double frame_heights = 0.4;
  double elevation_deg = 45;
  double max_mps = 0.35;
  double turn_deg = 20;
  double clearance_m = 0.35;

  void Visit(auto&& v) {
    v("dead_band", "frame heights", dead_band, 0, 0.5, "error of the hands' middle below which the camera rests");
    v("gain_hz", "Hz", gain_hz, 0.02, 3, "bandwidth of the servo loop");
    v("frame_heights", "frame heights", frame_heights, 0.1, 1.5, "that both hands together take");
    v("elevation_deg", "deg", elevation_deg, 0, 90, "of the camera above the hands, kept");
    v("max_mps", "m/s", max_mps, 0.01, 2, "highest speed of the camera");
    v("turn_deg", "deg", turn_deg, 0, 60, "most that the view turns where sliding does not suffice");
    v("clearance_m", "m", clearance_m, 0, 1, "distance kept between camera and person");
  }
};

class Follow : public Policy {
 public:
  explicit Follow(const FollowConfig& config) : config_(config) {}

 private:
  static constexpr int kIkSteps = 6;  // a tick; the wish moves by millimetres between two

  static Shot FilmedShot() { return {{Subject{SubjectKind::kHands, ""}}, ShotSize::kCloseUp, ShotAngle::kHighAngle}; }

  void DoBackToOne(const Stage& stage, uint64_t) override {
    stage_ = &stage;
    ViewTuning tuning;
    tuning.clearance_m = config_.clearance_m;
    solver_ = std::make_unique<ViewSolver>(stage, tuning);
    pilot_.Reset(*solver_, stage, 1);
    const Eigen::VectorXd far = Eigen::VectorXd::Constant(stage.arm.dof(), 1e3);
    ik_ = std::make_unique<ArmIk>(stage.arm, solver_->Clamped(-far), solver_->Clamped(far), stage.arm.home);
    posture_ = stage.arm.home;
    X_WC_ = solver_->X_WC(stage.arm.home);
    scene_.Reset(stage);
    const double elevation = config_.elevation_deg * std::numbers::pi / 180;
    const Eigen::Vector3d back(0, std::cos(elevation), std::sin(elevation));
    const Eigen::Vector3d up(0, -std::sin(elevation), std::cos(elevation));
    R_WC_.col(0) = back.cross(up).normalized() * -1;
    R_WC_.col(1) = -up;
    R_WC_.col(2) = -back;
    const SubjectGeometry hands = MeasureTracked(FilmedShot(), scene_, stage.bench, {true, true});
    p_WC_ = hands.centre_W + Distance_m(stage, hands.extent_m, stage.camera.focal_min_m) * back;
    turn_.setZero();
    v_WC_.setZero();
    extent_m_ = hands.extent_m;
    started_ = false;
  }

  double Distance_m(const Stage& stage, double extent_m, double focal_m) const {
    return FrameHeights(stage.camera, LensState{focal_m, 1}, extent_m, 1) / config_.frame_heights;
  }

  Move DoDecide(const Observation& seen) override {
    scene_.Update(seen);
    const double dt_s = scene_.dt_s();
    const SubjectGeometry hands = MeasureTracked(FilmedShot(), scene_, stage_->bench, {true, true});
    const bool lost = scene_.HandAge_s(kLeft) > 0.5 && scene_.HandAge_s(kRight) > 0.5;
    extent_m_ += (1 - std::exp(-dt_s / 1.0)) * (hands.extent_m - extent_m_);
    const double heights = FrameHeights(stage_->camera, seen.lens, 1, 1);

    // Features of the wanted pose: place in the image and log of the depth that gives the wanted size.
    const Eigen::Vector3d p_C = R_WC_.transpose() * (hands.centre_W - p_WC_);
    const double z = std::max(p_C.z(), 0.1);
    const Eigen::Vector2d off(heights * p_C.x() / z, heights * p_C.y() / z);
    const double octaves = std::log2(z / Distance_m(*stage_, extent_m_, seen.lens.focal_m));
    // The dead band opens softly: no jump when it is left.
    const auto beyond = [](double error, double band) { return std::copysign(std::max(0.0, std::abs(error) - band), error); };
    const double radius = off.norm();
    const Eigen::Vector2d pull = radius > 1e-9 ? Eigen::Vector2d(off * (beyond(radius, config_.dead_band) / radius)) : off;
    const double pull_octaves = beyond(octaves, 3 * config_.dead_band);
    // Inverse of the interaction matrix for sliding alone: v_x = z/f e_x, v_y = z/f e_y, v_z = z ln2 e_size.
    Eigen::Vector3d wish_C(z / heights * pull.x(), z / heights * pull.y(), z * std::numbers::ln2 * pull_octaves);
    wish_C *= 2 * std::numbers::pi * config_.gain_hz;
    if (lost) wish_C.setZero();
    if (wish_C.norm() > config_.max_mps) wish_C *= config_.max_mps / wish_C.norm();
    const Eigen::Vector3d v_before = v_WC_;
    v_WC_ += (1 - std::exp(-dt_s / 0.25)) * (R_WC_ * wish_C - v_WC_);
    p_WC_ += dt_s * 0.5 * (v_before + v_WC_);
    KeepAway(dt_s);

    Move move;
    ik_->Improve(stage_->bench.X_WB.inverse() * Target(hands, dt_s, lost), kIkSteps, &posture_);
    move.motion = JointTarget{pilot_.Step(seen.arm.q, posture_, person_, dt_s)};
    X_WC_ = solver_->X_WC(pilot_.q());
    move.focal_m = stage_->camera.focal_min_m;
    move.focus_m = std::max((seen.arm.X_WC.inverse() * hands.centre_W).z(), stage_->camera.focus_nearest_m);
    move.chosen = FilmedShot();
    return move;
  }

  // The wish is not led far from where the arm got to, and turns toward the hands where the arm is short.
  Eigen::Isometry3d Target(const SubjectGeometry& hands, double dt_s, bool lost) {
    constexpr double kLeash_m = 0.15;
    if (started_) {
      const Eigen::Vector3d ahead = p_WC_ - X_WC_.translation();
      if (ahead.norm() > kLeash_m && (X_WC_.translation() - hands.centre_W).norm() > 0.2) {
        p_WC_ = X_WC_.translation() + ahead * std::max(kLeash_m / ahead.norm(), 1 - dt_s / 0.3);
      }
    }
    started_ = true;
    const Eigen::Vector3d p_C = R_WC_.transpose() * (hands.centre_W - X_WC_.translation());
    const double most = config_.turn_deg * std::numbers::pi / 180;
    const double short_m = (p_WC_ - X_WC_.translation()).norm();
    const double share = std::clamp((short_m - 0.05) / 0.1, 0.0, 1.0);
    const Eigen::Vector2d wish = lost || p_C.z() < 0.1
                                     ? turn_
                                     : Eigen::Vector2d(share * std::clamp(std::atan2(p_C.x(), p_C.z()), -most, most),
                                                       share * std::clamp(std::atan2(p_C.y(), p_C.z()), -most, most));
    turn_ += (1 - std::exp(-dt_s / 0.8)) * (wish - turn_);
    Eigen::Isometry3d target = Eigen::Isometry3d::Identity();
    target.translation() = p_WC_;
    target.linear() =
        R_WC_ * (Eigen::AngleAxisd(turn_.x(), Eigen::Vector3d::UnitY()) * Eigen::AngleAxisd(-turn_.y(), Eigen::Vector3d::UnitX()))
                    .toRotationMatrix();
    return target;
  }

  void KeepAway(double dt_s) {
    GuessPerson(scene_, 0, &person_);
    for (const PersonGuess::Capsule& capsule : person_.capsules) {
      const Eigen::Vector3d ab = capsule.b_W - capsule.a_W;
      const double t = std::clamp((p_WC_ - capsule.a_W).dot(ab) / std::max(ab.squaredNorm(), 1e-12), 0.0, 1.0);
      const Eigen::Vector3d apart = p_WC_ - (capsule.a_W + t * ab);
      const double short_m = config_.clearance_m + capsule.radius_m - apart.norm();
      if (short_m > 0 && apart.norm() > 1e-6) p_WC_ += apart.normalized() * short_m * (1 - std::exp(-dt_s / 0.1));
    }
  }

  FollowConfig config_;
  const Stage* stage_ = nullptr;
  std::unique_ptr<ViewSolver> solver_;
  std::unique_ptr<ArmIk> ik_;
  ArmPilot pilot_;
  JointVector posture_;                                     // of the wish
  Eigen::Isometry3d X_WC_ = Eigen::Isometry3d::Identity();  // where the pilot's way has got to
  SceneFilter scene_;
  PersonGuess person_;
  Eigen::Vector3d p_WC_ = Eigen::Vector3d::Zero(), v_WC_ = Eigen::Vector3d::Zero();
  Eigen::Matrix3d R_WC_ = Eigen::Matrix3d::Identity();
  Eigen::Vector2d turn_ = Eigen::Vector2d::Zero();  // about the image's y and x, radians
  double extent_m_ = 0.3;
  bool started_ = false;
};

}  // namespace

std::unique_ptr<Policy> MakeFollow(const ParamValues& values) {
  return std::make_unique<Follow>(MakeConfig<FollowConfig>(values));
}
std::vector<ParamInfo> FollowParams() {
  return DescribeParams<FollowConfig>();
}

}  // namespace dryrig
