#include "policies/picture.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

constexpr double kBenchWide_m = 0.6, kBenchDeep_m = 0.4;  // working area in front of the torso, as "bench" means it
constexpr double kFaceAhead_m = 0.05;                     // middle of the face before the middle of the head

}  // namespace

SubjectGeometry MeasureTracked(const Shot& shot, const SceneFilter& scene, const Bench& bench, const HandsInUse& hands) {
  std::vector<Eigen::Vector3d> points;
  points.reserve(64);
  double nominal_m = 0;
  for (const Subject& subject : shot.subjects) {
    switch (subject.kind) {
      case SubjectKind::kFace: {
        const Eigen::Vector3d ahead = kFaceAhead_m * (scene.q_WHd() * Eigen::Vector3d::UnitY());
        const Eigen::Vector3d up = 0.5 * scene.head_height_m() * (scene.q_WHd() * Eigen::Vector3d::UnitZ());
        for (const double share : {-1.0, 1.0}) points.push_back(scene.p_WHead() + ahead + share * up);
        nominal_m = std::max(nominal_m, scene.head_height_m());
        break;
      }
      case SubjectKind::kHands: {
        const bool none = !hands[kLeft] && !hands[kRight];
        for (const Side side : {kLeft, kRight}) {
          if (!none && !hands[side]) continue;
          for (int k = 0; k < kHandLandmarks; ++k) points.push_back(scene.p_W(HandPoint(side, k)));
        }
        nominal_m = std::max(nominal_m, scene.hand_length_m());
        break;
      }
      case SubjectKind::kProp:
      case SubjectKind::kTip: {  // where the tip is no tracker tells: the tool's middle stands for it
        const int i = scene.FindProp(subject.prop);
        if (i < 0) break;
        const auto& prop = scene.props()[static_cast<size_t>(i)];
        points.push_back(prop.p_WP);
        nominal_m = std::max(nominal_m, subject.kind == SubjectKind::kTip ? kTipExtent_m : prop.extent_m);
        break;
      }
      case SubjectKind::kBench: {
        const double wide = std::min(kBenchWide_m, bench.width_m), deep = std::min(kBenchDeep_m, bench.depth_m);
        for (const double x : {-0.5, 0.5}) {
          for (const double y : {0.0, 1.0}) points.emplace_back(x * wide, y * deep, bench.height_m);
        }
        nominal_m = std::max(nominal_m, kBenchWide_m);
        break;
      }
    }
  }
  if (points.empty()) points.emplace_back(0, 0.5 * kBenchDeep_m, bench.height_m);
  return MeasurePoints(points, std::max(nominal_m, 0.01));
}

void CalmSubject::Reset(const SubjectGeometry& measured) {
  now_ = measured;
  v_W_.setZero();
  extent_rate_ = 0;
}

void CalmSubject::Update(const SubjectGeometry& measured, double frame_m, double calm_s, double dt_s) {
  if (dt_s <= 0) return;
  // A critically damped spring, the stiffer the farther the subject has gone, in frame heights.
  constexpr double kSmall = 0.06, kLarge = 0.3, kQuick_s = 0.16;
  const Eigen::Vector3d off = measured.centre_W - now_.centre_W;
  const double share = std::clamp((off.norm() / frame_m - kSmall) / (kLarge - kSmall), 0.0, 1.0);
  const double omega = 1 / (calm_s + share * (kQuick_s - calm_s));
  v_W_ += dt_s * (omega * omega * off - 2 * omega * v_W_);
  now_.centre_W += dt_s * v_W_;

  constexpr double kSmallOctaves = 0.1, kLargeOctaves = 0.6;
  const double octaves = std::log2(measured.extent_m / now_.extent_m);
  const double size_share = std::clamp((std::abs(octaves) - kSmallOctaves) / (kLargeOctaves - kSmallOctaves), 0.0, 1.0);
  const double size_omega = 1 / (1.5 * calm_s + size_share * (2 * kQuick_s - 1.5 * calm_s));
  extent_rate_ += dt_s * (size_omega * size_omega * octaves - 2 * size_omega * extent_rate_);
  now_.extent_m *= std::exp2(dt_s * extent_rate_);
}

WantedPicture PictureFor(const Shot& shot, const SubjectGeometry& subject, const Eigen::Quaterniond& q_WT, double aspect) {
  const WantedView view = ViewFor(shot.angle, q_WT);
  WantedPicture picture;
  picture.centre_W = subject.centre_W;
  picture.extent_m = subject.extent_m;
  picture.frame_heights = WantedFrameHeights(shot);
  picture.at = CompositionPoint(shot.composition, aspect);
  picture.to_camera_W = view.to_camera_W;
  picture.up_W = view.up_W;
  picture.horizon = shot.angle != ShotAngle::kOverhead;
  return picture;
}

}  // namespace dryrig
