#pragma once

#include <Eigen/Geometry>
#include <array>
#include <string>
#include <vector>

namespace dryrig {

enum Side : int { kLeft = 0, kRight = 1 };

/// Points of a person's body, in one flat array: joints first, then 21 landmarks of the left hand, then of the right.
enum BodyPoint : int {
  kPelvis, kLumbar, kThorax, kNeck, kHeadLow, kHeadHigh,
  kShoulderL, kShoulderR, kElbowL, kElbowR, kWristL, kWristR,
  kHipL, kHipR, kKneeL, kKneeR, kAnkleL, kAnkleR, kToeL, kToeR,
  kHandL, kHandR = kHandL + 21, kNumBodyPoints = kHandR + 21,
};

/// Landmark within a hand: 0 wrist, then 4 a finger from base to tip: thumb 1–4, index 5–8, middle 9–12, ring 13–16, little 17–20.
inline constexpr int kHandLandmarks = 21;
inline constexpr int HandPoint(Side side, int landmark) { return (side == kLeft ? kHandL : kHandR) + landmark; }

/// A person at an instant. Torso frame T at kThorax and head frame Hd at the head's middle: x to the person's right,
/// y forward (chest's and face's normal), z up along the spine.
struct BodyPose {
  std::array<Eigen::Vector3d, kNumBodyPoints> p_W;
  Eigen::Quaterniond q_WT = Eigen::Quaterniond::Identity();
  Eigen::Quaterniond q_WHd = Eigen::Quaterniond::Identity();
  Eigen::Vector3d gaze_W = Eigen::Vector3d::UnitY();     // unit, from between the eyes
  std::array<bool, 2> hand_in_use{false, false};         // by side: the hand acts in the present beat

  Eigen::Vector3d p_WHead() const { return 0.5 * (p_W[kHeadLow] + p_W[kHeadHigh]); }
};

/// A capsule of the body between two of its points. `region` is a contact region of ISO/TS 15066 Annex A.
struct PersonCapsule {
  std::string name;     // "left forearm", "right index tip"
  int a = 0, b = 0;     // BodyPoint; equal for a sphere
  double radius_m = 0;
  std::string region;   // "skull", "face", "neck", "back", "chest", "abdomen", "pelvis", "upper arm", "lower arm", "hand", "thigh", "lower leg"
};

/// What does not change while a person moves.
struct PersonBody {
  std::vector<PersonCapsule> capsules;
  std::vector<Eigen::Vector3d> face_points;  // samples on the face's surface, seen from Hd
  double head_height_m = 0.23;               // chin to crown
  double hand_length_m = 0.19;
};

}  // namespace dryrig
