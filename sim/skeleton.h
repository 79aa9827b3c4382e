#pragma once

#include <Eigen/Geometry>
#include <array>

#include "scenes/bench.h"
#include "scenes/person.h"
#include "sim/body_pose.h"

namespace dryrig {

/// A person's lengths and stand at a bench. Metres; heights are above the middle of the hips unless said otherwise.
struct PersonBuild {
  bool seated = false;
  double stature = 0, girth = 1;                        // girth: breadths and depths over those of a slim adult
  Eigen::Vector3d p_WPelvis = Eigen::Vector3d::Zero();  // middle of the hip joints, at rest
  double lumbar = 0, thorax = 0, neck = 0, shoulder = 0;
  double shoulder_half = 0, hip_half = 0;
  double neck_length = 0;  // base of the neck to the skull's joint
  double head_rise = 0;    // that joint to the head's middle
  double head_height = 0, head_radius = 0;
  double upper_arm = 0, forearm = 0, hand = 0;
  double thigh = 0, shank = 0, foot = 0;
  std::array<Eigen::Vector3d, 2> p_WAnkle;  // by side, facing the bench
};

/// @pre every length of `person` is filled.
PersonBuild BuildPerson(const PersonSpec& person, const Bench& bench);
/// Capsules, face samples and lengths that go with it.
PersonBody MakePersonBody(const PersonBuild& build);
double ForearmRadius(const PersonBuild& build);

/// What the trunk does. Radians; yaw left positive.
struct TrunkInput {
  double turn = 0;                                    // of the whole person about the pelvis' vertical; feet follow in part
  double lean = 0;                                    // forwards from the hips
  double twist = 0;                                   // yaw of the chest beyond `turn`
  double roll = 0;                                    // to the right
  Eigen::Vector3d shift_W = Eigen::Vector3d::Zero();  // of the pelvis
  Eigen::Vector3d step_W = Eigen::Vector3d::Zero();   // of pelvis and feet: the whole person
  double breath_m = 0;                                // rise of chest and shoulders
};
struct TrunkPose {
  double turn = 0;
  Eigen::Quaterniond q_WT;
  Eigen::Matrix3d R_WT;
  Eigen::Vector3d step_W;
  Eigen::Vector3d pelvis, lumbar, thorax, neck;
  std::array<Eigen::Vector3d, 2> shoulder, hip;  // by side; shoulders before the arm draws them along
};
TrunkPose PoseTrunk(const PersonBuild& build, const TrunkInput& input);

/// The point of a pair: given the left one's, as BodyPoint orders them.
constexpr int OfSide(BodyPoint left, Side side) {
  return static_cast<int>(left) + static_cast<int>(side);
}

/// Yaw frame Y: W turned by `turn` about the pelvis' vertical. Hands are planned in it.
Eigen::Vector3d YawToWorld(const PersonBuild& build, double turn, const Eigen::Vector3d& p_Y);
Eigen::Vector3d WorldToYaw(const PersonBuild& build, double turn, const Eigen::Vector3d& p_W);

/// Shares of a limb's length between which SolveTwoBones takes its target as it is: an arm's stretch, and the fold of an elbow
/// bent by 144°.
inline constexpr double kFreeStretch = 0.965;
double FreeFold(double first, double second);

/// Two bones of a limb from `a` towards `c`, the joint between them on `pole`'s side. Where c is too far or too near it is
/// drawn in without a kink; `stretch` is |c - a| over the limb's length before that.
struct TwoBones {
  Eigen::Vector3d middle, end;
  Eigen::Vector3d hinge;  // unit, normal to the limb's plane: along x where the limb bends as an arm does in front of a body
  double stretch = 0;
};
TwoBones SolveTwoBones(const Eigen::Vector3d& a, const Eigen::Vector3d& c, double first, double second,
                       const Eigen::Vector3d& pole, double free_stretch = kFreeStretch);

/// Wrist joint, as rotations about the forearm's axes: R_FH = Ry(roll) Rx(flex) Rz(deviate).
struct WristAngles {
  double roll = 0;     // forearm's: at pi/2 (right) or -pi/2 (left) the thumb points up, at 0 the palm faces the hinge's down
  double flex = 0;     // extension positive
  double deviate = 0;  // to the left
};
Eigen::Matrix3d HandInForearm(const WristAngles& angles);
/// The same angles brought inside the working range, which stays a margin within the AAOS ranges.
WristAngles InWristRange(Side side, WristAngles angles);
/// The angles of a hand in its forearm, brought inside the working range.
WristAngles WristAnglesFor(Side side, const Eigen::Matrix3d& R_FH);
/// The same roll, with the flexion and deviation that aim a finger, flexed by `bend` at its knuckle, along d_F; in range.
WristAngles AimFinger(Side side, double roll, double bend, const Eigen::Vector3d& d_F);
/// Bounds of the working range of `roll` for this side.
std::array<double, 2> RollRange(Side side);

struct ArmPose {
  Eigen::Vector3d shoulder, elbow, wrist;
  Eigen::Matrix3d R_WF, R_WH;  // forearm (y towards the hand, x along the hinge) and hand
  double stretch = 0;
};
/// `swivel` turns the elbow's pole outwards, radians about 0.
ArmPose PoseArm(const PersonBuild& build, const TrunkPose& trunk, Side side, const Eigen::Vector3d& p_WWrist,
                const WristAngles& angles, double swivel);

/// Rotation of the upper arm, from where the shortest swing out of the hanging arm brings the elbow's hinge; medial positive.
double MedialRotation(const TrunkPose& trunk, Side side, const ArmPose& arm);
/// Its working range: 64° and 80°, of the AAOS ranges of 70° and 90°.
inline constexpr double kMostMedial = 1.12, kMostLateral = 1.40;

/// Head on the trunk, turned towards a point in W as far as the neck's working range lets it.
struct HeadPose {
  Eigen::Quaterniond q_WHd;
  Eigen::Vector3d middle, low, high, eyes;
};
HeadPose PoseHead(const PersonBuild& build, const TrunkPose& trunk, const Eigen::Vector3d& p_WLook);

/// Hips to toes, into pose.
void PoseLegs(const PersonBuild& build, const TrunkPose& trunk, BodyPose* pose);

}  // namespace dryrig
