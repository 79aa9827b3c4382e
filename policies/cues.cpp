#include "policies/cues.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dryrig {

namespace {

constexpr double kDegree = std::numbers::pi / 180;

// Pointing: a finger is straight or curled by the ratio of its chord to its bones.
constexpr double kStraight = 0.93, kCurled = 0.80;
constexpr double kStill_mps = 0.12;            // a pointing hand has come to rest
constexpr double kAimWidth_rad = 9 * kDegree;  // spread of pointing about its target
constexpr double kAimWidest_rad = 30 * kDegree;
constexpr double kPointAfter_s = 0.25, kEvidenceMost_s = 0.8;
constexpr double kSwitchLead_s = 0.15;  // another prop must be ahead by so much

// Raised: well above the bench and in a hand.
constexpr double kRaisedHeight_m = 0.17, kLoweredHeight_m = 0.12, kInHand_m = 0.13, kRaisedAfter_s = 0.3;
constexpr double kRaisedStill_mps = 0.15;

// Work: the hand moves, but stays.
constexpr double kWork_mps = 0.035, kIdle_mps = 0.02, kTransport_mps = 0.09, kWorkHeight_m = 0.30, kWorkAfter_s = 0.5;
constexpr double kSlow_s = 0.45;

// Address: the face is lifted to where the camera is.
constexpr double kHeadUp_rad = -18 * kDegree, kAddressAfter_s = 0.5;

constexpr double kRecent_s = 1.5;  // a hand counts as taking part so long after it last moved

double FingerRatio(const SceneFilter& scene, Side side, int base) {
  double bones = 0;
  for (int k = 0; k < 3; ++k) bones += (scene.p_W(HandPoint(side, base + k + 1)) - scene.p_W(HandPoint(side, base + k))).norm();
  return bones > 0 ? (scene.p_W(HandPoint(side, base + 3)) - scene.p_W(HandPoint(side, base))).norm() / bones : 0;
}

// Evidence rises with time while it holds and falls as quickly when it does not.
void Weigh(double* evidence, double rate, double dt_s) {
  *evidence = std::clamp(*evidence + rate * dt_s, 0.0, kEvidenceMost_s);
}

double Elevation_rad(const Eigen::Vector3d& v) {
  return std::atan2(v.z(), v.head<2>().norm());
}

}  // namespace

double PointingShape(const SceneFilter& scene, Side side) {
  const double index = std::clamp((FingerRatio(scene, side, 5) - kCurled) / (kStraight - kCurled), 0.0, 1.0);
  double others = 0;
  for (const int base : {9, 13, 17})
    others += std::clamp((kStraight - FingerRatio(scene, side, base)) / (kStraight - kCurled), 0.0, 1.0) / 3;
  return index * others;
}

double PointingAngle_rad(const SceneFilter& scene, Side side, const Eigen::Vector3d& p_W) {
  const Eigen::Vector3d base = scene.p_W(HandPoint(side, 5)), tip = scene.p_W(HandPoint(side, 8));
  const Eigen::Vector3d finger = tip - base;
  const Eigen::Vector3d to_prop = p_W - tip;
  if (finger.norm() < 1e-6 || to_prop.norm() < 1e-6) return 0;
  return std::atan2(finger.cross(to_prop).norm(), finger.dot(to_prop));
}

void CueReader::Reset(const Stage& stage) {
  *this = CueReader();
  stage_ = &stage;
}

const Cues& CueReader::Update(const SceneFilter& scene) {
  for (const Side side : {kLeft, kRight}) {
    const Eigen::Vector3d centre = scene.HandCentre(side);
    if (!started_) slow_centre_[side] = centre, slow_v_[side].setZero();
    const double blend = 1 - std::exp(-scene.dt_s() / kSlow_s);
    const Eigen::Vector3d step = blend * (centre - slow_centre_[side]);
    slow_centre_[side] += step;
    if (scene.dt_s() > 0) slow_v_[side] += blend * (step / scene.dt_s() - slow_v_[side]);
    busy_s_[side] = scene.HandActivity_mps(side) > kWork_mps ? 0 : busy_s_[side] + scene.dt_s();
  }
  started_ = true;
  ReadPointing(scene);
  ReadRaised(scene);
  ReadWork(scene);
  ReadAddress(scene);
  ReadHands(scene);
  return cues_;
}

void CueReader::ReadPointing(const SceneFilter& scene) {
  aim_.resize(scene.props().size(), 0);
  const double dt_s = scene.dt_s();
  std::vector<double> likely(aim_.size(), 0);
  for (const Side side : {kLeft, kRight}) {
    const bool shaped = PointingShape(scene, side) > 0.5 && scene.HandSpeed_mps(side) < kStill_mps && scene.HandAge_s(side) < 0.5;
    Weigh(&extended_[side], shaped ? 1 : -2, dt_s);
    if (extended_[side] < 0.1) continue;
    double total = 1e-9;
    std::vector<double> each(aim_.size(), 0);
    for (size_t i = 0; i < aim_.size(); ++i) {
      const auto& prop = scene.props()[i];
      if (!prop.known) continue;
      const double angle = PointingAngle_rad(scene, side, prop.p_WP);
      if (angle > kAimWidest_rad) continue;
      each[i] = std::exp(-0.5 * std::pow(angle / kAimWidth_rad, 2));
      total += each[i];
    }
    for (size_t i = 0; i < aim_.size(); ++i) likely[i] = std::max(likely[i], each[i] / total);
  }
  int best = -1;
  const int now = scene.FindProp(cues_.pointed_at);
  for (size_t i = 0; i < aim_.size(); ++i) {
    Weigh(&aim_[i], likely[i] > 0.5 ? likely[i] : (likely[i] > 0 ? likely[i] - 0.5 : -2), dt_s);
    if (best < 0 || aim_[i] > aim_[static_cast<size_t>(best)]) best = static_cast<int>(i);
  }
  const bool holds = now >= 0 && aim_[static_cast<size_t>(now)] > 0;
  if (!holds) cues_.pointed_at.clear();
  if (best >= 0 && aim_[static_cast<size_t>(best)] > kPointAfter_s &&
      (!holds || aim_[static_cast<size_t>(best)] > aim_[static_cast<size_t>(now)] + kSwitchLead_s)) {
    cues_.pointed_at = scene.props()[static_cast<size_t>(best)].name;
  }
}

void CueReader::ReadRaised(const SceneFilter& scene) {
  lift_.resize(scene.props().size(), 0);
  cues_.raised.clear();
  double most = 0;
  for (size_t i = 0; i < lift_.size(); ++i) {
    const auto& prop = scene.props()[i];
    const double height = prop.p_WP.z() - stage_->bench.height_m;
    const double to_hand = std::min((prop.p_WP - scene.HandCentre(kLeft)).norm(), (prop.p_WP - scene.HandCentre(kRight)).norm());
    const bool high = prop.known && height > (lift_[i] > kRaisedAfter_s ? kLoweredHeight_m : kRaisedHeight_m);
    const bool raised = high && to_hand < kInHand_m + 0.5 * prop.extent_m && prop.v_WP.norm() < kRaisedStill_mps;
    Weigh(&lift_[i], raised ? 1 : -2, scene.dt_s());
    if (lift_[i] > kRaisedAfter_s && lift_[i] + height > most) most = lift_[i] + height, cues_.raised = prop.name;
  }
}

void CueReader::ReadWork(const SceneFilter& scene) {
  cues_.working = false;
  for (const Side side : {kLeft, kRight}) {
    const double activity = scene.HandActivity_mps(side);
    const bool stays = slow_v_[side].norm() < kTransport_mps;
    const bool low = scene.HandCentre(side).z() < stage_->bench.height_m + kWorkHeight_m;
    const bool works = activity > (work_[side] > kWorkAfter_s ? kIdle_mps : kWork_mps) && stays && low;
    Weigh(&work_[side], works ? 1 : -1, scene.dt_s());
    if (work_[side] > kWorkAfter_s) cues_.working = true;
  }
}

void CueReader::ReadAddress(const SceneFilter& scene) {
  const bool rest = std::max(work_[kLeft], work_[kRight]) < 0.2;
  const bool up = Elevation_rad(scene.q_WHd() * Eigen::Vector3d::UnitY()) > kHeadUp_rad;
  Weigh(&address_, rest && up ? 1 : -2, scene.dt_s());
  cues_.addressing = address_ > kAddressAfter_s;
}

void CueReader::ReadHands(const SceneFilter& scene) {
  // Without evidence of one hand alone both count.
  const bool left = busy_s_[kLeft] < kRecent_s, right = busy_s_[kRight] < kRecent_s;
  if (left || right) cues_.hands = {left, right};
  static_cast<void>(scene);
}

}  // namespace dryrig
