#pragma once

#include <Eigen/Core>
#include <array>

#include "sim/body_pose.h"

namespace dryrig {

/// What the fingers do, radians. All but `kSpread` are flexions or angles of the thumb's column.
enum FingerAngle : int {
  kIndexBase,    // index: flexion at the knuckle
  kIndexMiddle,  // index: flexion at the middle joint; the end joint follows with two thirds
  kOthersBase,
  kOthersMiddle,
  kThumbOut,   // thumb's column away from the index, in the palm's plane
  kThumbDown,  // thumb's column below the palm (opposition)
  kThumbFlex,  // bend of the thumb's last bone towards the index
  kSpread,     // between neighbouring fingers
  kNumFingerAngles,
};
using FingerPose = Eigen::Matrix<double, kNumFingerAngles, 1, Eigen::DontAlign>;

FingerPose RestingFingers();
FingerPose FlatFingers();
/// Index straight, flexed by `bend` at the knuckle; the others curled.
FingerPose PointingFingers(double bend = 0);
/// Thumb against index and middle finger with `gap_m` between the tips' middles, as near as the hand gets to it.
FingerPose PinchingFingers(double gap_m, double hand_m);

/// Hand frame H at the wrist: y along the hand, z out of its back, x to the right when the palm is down.
/// Landmarks of a hand of length `hand_m` in H; the left hand is the right one's mirror image.
std::array<Eigen::Vector3d, kHandLandmarks> HandLandmarks(Side side, const FingerPose& fingers, double hand_m);

/// Middle between the thumb's tip and those of index and middle finger, in H.
Eigen::Vector3d GripPoint(Side side, const FingerPose& fingers, double hand_m);

/// Bone radii, metres, for a hand of length `hand_m`: bone 0–3 of finger 0 (thumb) to 4.
double HandBoneRadius(int finger, int bone, double hand_m);

}  // namespace dryrig
