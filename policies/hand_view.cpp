#include "policies/hand_view.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/distance.h"
#include "sim/hand.h"

namespace dryrig {

namespace {

constexpr double kTolerance_rad = 15 * std::numbers::pi / 180;
constexpr double kRing_rad = 7 * std::numbers::pi / 180;  // directions lie on three rings, this far apart, eight on each
constexpr double kMemory = 0.3;                           // of one look in the average
constexpr double kHysteresis = 0.015;                     // share of landmarks by which another direction must be better
constexpr double kTurnTime_s = 0.8;
// What the tracker's noise hides from the look: working hands hang palm down, and from a tolerance lower more of the fingers
// shows.
constexpr double kLower = 0.06;

Eigen::Vector2d Offset(size_t direction) {
  if (direction == 0) return Eigen::Vector2d::Zero();
  const size_t which = 1 + (direction - 1) / 8;
  const double ring = kRing_rad * static_cast<double>(which);
  const double angle = static_cast<double>((direction - 1) % 8) * std::numbers::pi / 4;
  return {ring * std::cos(angle), ring * std::sin(angle)};
}

Eigen::Quaterniond Rotation(const Eigen::Vector2d& turn, const WantedPicture& picture) {
  const Eigen::Vector3d right = picture.up_W.cross(picture.to_camera_W);
  return Eigen::AngleAxisd(turn.x(), picture.up_W) * Eigen::AngleAxisd(-turn.y(), right);
}

struct Bone {
  Eigen::Vector3d a, b;
  double radius_m;
  int from, to;  // BodyPoint
};

}  // namespace

void HandView::Reset() {
  *this = HandView();
  for (auto& seen : seen_) seen.fill(1);
  share_.fill(1);
  looked_.fill(false);
}

void HandView::Look(const SceneFilter& scene, const HandsInUse& hands, const Eigen::Vector3d& from_W, size_t direction) {
  std::array<Eigen::Vector3d, size_t{2} * kHandLandmarks> at;
  std::vector<Bone> bones;
  bones.reserve(44);
  for (const Side side : {kLeft, kRight}) {
    for (int k = 0; k < kHandLandmarks; ++k) {
      at[static_cast<size_t>(HandPoint(side, k) - kHandL)] = scene.HandCentre(side) + scene.HandShape(side, k);
    }
    for (int finger = 0; finger < 5; ++finger) {
      for (int bone = 0; bone < 4; ++bone) {
        const int from = HandPoint(side, bone == 0 ? 0 : 4 * finger + bone), to = HandPoint(side, 4 * finger + bone + 1);
        bones.push_back({at[static_cast<size_t>(from - kHandL)], at[static_cast<size_t>(to - kHandL)],
                         HandBoneRadius(finger, bone, scene.hand_length_m()), from, to});
      }
    }
    const int wrist = HandPoint(side, 0);
    bones.push_back({scene.p_W(side == kLeft ? kElbowL : kElbowR), at[static_cast<size_t>(wrist - kHandL)],
                     0.18 * scene.hand_length_m(), wrist, wrist});
  }
  const bool none = !hands[kLeft] && !hands[kRight];
  int points = 0;
  double sum = 0;
  const double blend = looked_[direction] ? kMemory : 1;
  for (const Side side : {kLeft, kRight}) {
    if (!none && !hands[side]) continue;
    for (int k = 0; k < kHandLandmarks; ++k) {
      const int point = HandPoint(side, k);
      const Eigen::Vector3d& p = at[static_cast<size_t>(point - kHandL)];
      const bool hidden = std::any_of(bones.begin(), bones.end(), [&](const Bone& bone) {
        if (bone.from == point || bone.to == point) return false;
        return RayEntryCapsule(bone.a, bone.b, bone.radius_m, from_W, p) < 1;
      });
      double& seen = seen_[direction][static_cast<size_t>(point - kHandL)];
      seen += blend * ((hidden ? 0.0 : 1.0) - seen);
      sum += seen;
      ++points;
    }
  }
  looked_[direction] = true;
  share_[direction] = sum / points;
}

void HandView::Turn(const SceneFilter& scene, const HandsInUse& hands, double far_m, double price, WantedPicture* picture) {
  const Eigen::Vector3d from_W = picture->centre_W + far_m * (Rotation(Offset(next_), *picture) * picture->to_camera_W);
  Look(scene, hands, from_W, next_);
  next_ = (next_ + 1) % kDirections;
  const auto worth = [&](size_t direction) {
    const Eigen::Vector2d offset = Offset(direction) / kTolerance_rad;
    return share_[direction] - price * offset.squaredNorm() - kLower * offset.y();
  };
  if (std::all_of(looked_.begin(), looked_.end(), [](bool looked) { return looked; })) {
    size_t best = 0;
    for (size_t k = 1; k < kDirections; ++k) {
      if (worth(k) > worth(best)) best = k;
    }
    if (worth(best) > worth(chosen_) + kHysteresis) chosen_ = best;
  }
  turn_ += (1 - std::exp(-scene.dt_s() / kTurnTime_s)) * (Offset(chosen_) - turn_);
  const Eigen::Quaterniond R = Rotation(turn_, *picture);
  picture->to_camera_W = R * picture->to_camera_W;
  picture->up_W = R * picture->up_W;
  if (!picture->horizon) return;
  const Eigen::Vector3d z_W = Eigen::Vector3d::UnitZ(), line = picture->to_camera_W;
  const Eigen::Vector3d level = z_W - z_W.dot(line) * line;
  if (level.norm() > 1e-3) picture->up_W = level.normalized();
}

}  // namespace dryrig
