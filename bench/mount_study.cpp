#include "bench/mount_study.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "policies/table.h"
#include "sim/arm_ik.h"
#include "sim/distance.h"
#include "sim/kinematics.h"
#include "sim/rng.h"
#include "sim/run.h"
#include "sim/sight.h"
#include "sim/solid.h"

namespace dryrig {

namespace {

constexpr double kBeside_rad = 12 * M_PI / 180;
constexpr double kMostOff_m = 0.02, kMostOff_rad = 3 * M_PI / 180;  // as the tracker's own word for unreachable
constexpr double kGap_m = 0.02;
constexpr double kSeenShare = 0.7;
constexpr int kIkRounds = 40, kStarts = 4;
constexpr double kSettled_s = 1;  // after an intent begins the first moment comes

Eigen::Isometry3d LookAt(const Eigen::Vector3d& eye, const Eigen::Vector3d& target, const Eigen::Vector3d& up) {
  const Eigen::Vector3d z = (target - eye).normalized(), y = -(up - up.dot(z) * z).normalized();
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
  X_WC.linear() << y.cross(z), y, z;
  X_WC.translation() = eye;
  return X_WC;
}

/// Directions to the camera: as asked, then beside it.
std::vector<Eigen::Vector3d> DirectionsOf(const WantedView& wanted) {
  const Eigen::Vector3d n = wanted.to_camera_W, u = n.unitOrthogonal(), v = n.cross(u);
  std::vector<Eigen::Vector3d> out{n};
  for (int i = 0; i < 4; ++i) {
    const double a = 0.5 * M_PI * i;
    out.push_back((n + std::tan(kBeside_rad) * (std::cos(a) * u + std::sin(a) * v)).normalized());
  }
  return out;
}

/// Tries one mount.
class Try {
 public:
  Try(const Take& still, const ArmModel& arm, const MountPlace& place, double clearance_m)
      : take_(still), arm_(arm), X_WB_(place.X_WB()), clearance_m_(clearance_m), lower_(arm.dof()), upper_(arm.dof()) {
    take_.X_WB = X_WB_;
    scene_ = std::make_unique<SightScene>(take_);
    for (int j = 0; j < arm.dof(); ++j) {
      const Joint& joint = arm.joints[static_cast<size_t>(j)];
      // The tracker keeps 2° (5 mm) off every limit.
      const double keep = joint.kind == JointKind::kRevolute ? 2 * M_PI / 180 : 0.005;
      lower_[j] = joint.lower + keep, upper_[j] = joint.upper - keep;
      reach_m_ += joint.X_PJ.translation().norm();
    }
    reach_m_ += arm.X_EC.translation().norm();
    LinkPoses(arm_, arm_.home, &X_WL_);
    Place();
    for (size_t i = 0; i < parts_.size(); ++i) {
      for (size_t k = 0; k < i; ++k) {
        if (links_[i] - links_[k] >= 2 && DistanceOf(parts_[i], parts_[k]).distance_m > 0) pairs_.emplace_back(i, k);
      }
    }
    RandomStream random(1, "mount starts");
    starts_ = {arm.home, arm.home};
    for (int i = 0; i < kStarts; ++i) {
      JointVector& q = starts_.emplace_back(arm.dof());
      for (int j = 0; j < arm.dof(); ++j) q[j] = random.Uniform(0.8 * lower_[j], 0.8 * upper_[j]);
    }
    for (const Body* body : Still()) still_.push_back(MakeSolid(body->shape, body->X_LS));
  }

  ViewFate FateOf(const IntendedView& view) {
    ViewFate best = ViewFate::kOutOfReach;
    const auto later = [&best](ViewFate fate) { best = std::max(best, fate); };
    for (const LensState& lens : Lenses()) {
      const double depth_m = FrameHeights(take_.camera, lens, view.subject.extent_m, 1) / WantedFrameHeights(view.shot);
      if (depth_m < take_.camera.focus_nearest_m) continue;
      for (const Eigen::Vector3d& to_camera : DirectionsOf(view.wanted)) {
        const Eigen::Isometry3d X_WC =
            LookAt(view.subject.centre_W + depth_m * to_camera, view.subject.centre_W, view.wanted.up_W);
        for (const JointVector& from : StartsFor(X_WC)) {
          if (!Reach(X_WC, from)) continue;
          if (Strikes()) {
            later(ViewFate::kStrikes);
          } else if (NearestToPerson(take_.arm_bodies, X_WL_, take_.person, view.frame.person).distance_m < clearance_m_) {
            later(ViewFate::kTooNear);
          } else if (!Sees(view, {lens.focal_m, depth_m})) {
            later(ViewFate::kHidden);
            break;  // another posture of the arm hides little less
          } else {
            return ViewFate::kSeen;
          }
        }
      }
    }
    return best;
  }

 private:
  std::vector<const Body*> Still() const {
    std::vector<const Body*> out{&take_.bench_top};
    for (const Body& body : take_.keep_out) out.push_back(&body);
    return out;
  }
  std::vector<LensState> Lenses() const {
    const CameraBody& camera = take_.camera;
    std::vector<LensState> out{{camera.focal_min_m, 1}};
    if (camera.focal_max_m > camera.focal_min_m) {
      out.push_back({std::sqrt(camera.focal_min_m * camera.focal_max_m), 1});
      out.push_back({camera.focal_max_m, 1});
    }
    return out;
  }

  /// X_WL_ holds poses in B: to W, and the moving bodies with them.
  void Place() {
    for (Eigen::Isometry3d& X : X_WL_) X = X_WB_ * X;
    parts_.clear(), links_.clear();
    for (const ArmBody& body : take_.arm_bodies) {
      if (body.link < 0) continue;
      parts_.push_back(MakeSolid(body.body.shape, X_WL_[static_cast<size_t>(body.link)] * body.body.X_LS));
      links_.push_back(body.link);
    }
  }

  /// Postures to begin from: home turned toward the place, home, and some spread over the joints' ranges, turned too.
  std::vector<JointVector> StartsFor(const Eigen::Isometry3d& X_WC) const {
    const Eigen::Vector3d p_B = X_WB_.inverse() * X_WC.translation();
    if (p_B.norm() > reach_m_) return {};
    std::vector<JointVector> out = starts_;
    for (size_t i = 0; i < out.size(); ++i) {
      if (i != 1) out[i][0] = std::clamp(std::atan2(p_B.y(), p_B.x()), lower_[0], upper_[0]);
    }
    return out;
  }

  bool Reach(const Eigen::Isometry3d& X_WC, const JointVector& from) {
    const Eigen::Isometry3d X_BC = X_WB_.inverse() * X_WC;
    ArmIk ik(arm_, lower_, upper_, from);
    JointVector q = from;
    ik.Improve(X_BC, kIkRounds, &q);
    const ArmIk::Residual off = ik.ResidualAt(X_BC, q);
    if (!(off.place_m < kMostOff_m && off.aim_rad < kMostOff_rad)) return false;
    X_WC_ = X_WB_ * CameraPose(arm_, q);
    LinkPoses(arm_, q, &X_WL_);
    Place();
    return true;
  }

  bool Strikes() const {
    for (size_t i = 0; i < parts_.size(); ++i) {
      if (links_[i] < 1) continue;  // turns on the base, wherever that is bolted
      for (const Solid& solid : still_) {
        if (DistanceOf(parts_[i], solid).distance_m < kGap_m) return true;
      }
    }
    return std::any_of(pairs_.begin(), pairs_.end(),
                       [this](const auto& pair) { return DistanceOf(parts_[pair.first], parts_[pair.second]).distance_m <= 0; });
  }

  bool Sees(const IntendedView& view, const LensState& lens) {
    TakeFrame frame = view.frame;
    frame.X_WC = X_WC_;
    frame.X_WL = X_WL_;
    scene_->SetFrame(frame);
    int facing = 0, seen = 0;
    for (const SubjectSample& sample : view.samples) {
      if (scene_->IsFarSide(X_WC_.translation(), sample)) continue;
      ++facing;
      const auto image = Project(take_.camera, lens, X_WC_.inverse() * sample.p_W);
      seen += image && InFrame(take_.camera, *image) && scene_->FirstBlocker(X_WC_.translation(), sample) < 0;
    }
    return facing > 0 && seen >= kSeenShare * facing;
  }

  Take take_;
  const ArmModel& arm_;
  Eigen::Isometry3d X_WB_, X_WC_ = Eigen::Isometry3d::Identity();
  double clearance_m_, reach_m_ = 0;
  JointVector lower_, upper_;
  std::unique_ptr<SightScene> scene_;
  std::vector<Eigen::Isometry3d> X_WL_;
  std::vector<Solid> parts_, still_;
  std::vector<int> links_;
  std::vector<JointVector> starts_;
  std::vector<std::pair<size_t, size_t>> pairs_;
};

}  // namespace

LessonViews::LessonViews(const Lesson& lesson, const Stage& stage, const PersonSpec& person, uint64_t seed) : arm_(stage.arm) {
  // A take of one tick has all that stands still.
  TakeSetup setup;
  setup.lesson = lesson, setup.stage = stage, setup.person = person, setup.seed = seed;
  setup.max_s = 1e-3;
  still_ = RunTake(setup, *FindPolicy("tripod").make({}));
  still_.frames.clear(), still_.ticks.clear();
  const Performance performance(lesson, stage.bench, person, seed);
  for (const TimedIntent& intent : performance.intents()) {
    const double end_s = std::min(intent.end_s, performance.duration_s()), start_s = std::min(intent.start_s + kSettled_s, end_s);
    for (const double share : {0.25, 0.75}) {
      const double t_s = start_s + share * (end_s - start_s);
      IntendedView view;
      view.frame.person = performance.PoseAt(t_s);
      for (const PropPose& prop : performance.PropsAt(t_s)) {
        view.frame.X_WP.push_back(prop.X_WP);
        view.frame.carrier.push_back(prop.carrier);
      }
      view.shot = intent.shot;
      SubjectSamples(still_, view.frame, view.shot, &view.samples);
      view.subject = MeasureSubject(still_, view.shot, view.samples);
      view.wanted = ViewFor(view.shot.angle, view.frame.person.q_WT);
      views_.push_back(std::move(view));
    }
  }
}

std::vector<ViewFate> LessonViews::FatesFrom(const MountPlace& place, double clearance_m) const {
  Try one(still_, arm_, place, clearance_m);
  std::vector<ViewFate> out;
  for (const IntendedView& view : views_) out.push_back(one.FateOf(view));
  return out;
}

int MountScore::views() const {
  return std::accumulate(by_fate.begin(), by_fate.end(), 0);
}

double MountScore::seen() const {
  return views() == 0 ? 0 : static_cast<double>(by_fate[0]) / views();
}

}  // namespace dryrig
