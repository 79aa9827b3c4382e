#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// Points of a person that a recording may know. Pairs stand left, right. `fingers` is where a hand without finger joints
/// points to, `thumb` where its one thumb does; else each finger has four points from base to tip.
enum class TrackPoint : int {
  kPelvis,
  kSpine,
  kChest,
  kNeck,
  kHead,
  kHeadTop,
  kNose,
  kEyeL,
  kEyeR,
  kEarL,
  kEarR,
  kShoulderL,
  kShoulderR,
  kElbowL,
  kElbowR,
  kWristL,
  kWristR,
  kHipL,
  kHipR,
  kKneeL,
  kKneeR,
  kAnkleL,
  kAnkleR,
  kToeL,
  kToeR,
  kFingersL,
  kFingersR,
  kThumbL,
  kThumbR,
  kFingerL,
  kFingerR = kFingerL + 20,
  kEnd = kFingerR + 20,
};
inline constexpr int kNumTrackPoints = static_cast<int>(TrackPoint::kEnd);
inline constexpr int Index(TrackPoint point) {
  return static_cast<int>(point);
}

/// The point of a pair: `side` 0 left, 1 right.
inline constexpr TrackPoint AtSide(TrackPoint left, int side) {
  return static_cast<TrackPoint>(Index(left) + side);
}
/// Landmark 1–20 of a hand: 4 a finger from thumb to little, base to tip.
inline constexpr TrackPoint FingerAt(int side, int landmark) {
  return static_cast<TrackPoint>(Index(side == 0 ? TrackPoint::kFingerL : TrackPoint::kFingerR) + landmark - 1);
}

/// As files of ours spell it: `pelvis`, `left_elbow`, `right_index_4`.
const std::string& ToString(TrackPoint point);
std::optional<TrackPoint> FindTrackPoint(std::string_view name);
/// All names in order.
const std::vector<std::string>& TrackPointNames();

}  // namespace dryrig
