#include "sim/skeleton.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "sim/motion.h"

namespace dryrig {

using Eigen::Matrix3d;
using Eigen::Quaterniond;
using Eigen::Vector3d;

namespace {

constexpr double kDeg = std::numbers::pi / 180;

// Working ranges; AAOS: pronation and supination 80°, wrist flexion 80°, extension 70°, radial 20°, ulnar 30° deviation;
// neck (from memory) flexion, extension and lateral 45°, rotation 60°.
constexpr double kRollMin = 12 * kDeg, kRollMax = 168 * kDeg;  // from palm down on the hinge; neutral at 90°
constexpr double kFlexMin = -72 * kDeg, kFlexMax = 63 * kDeg;
constexpr double kRadialMax = 16 * kDeg, kUlnarMax = 26 * kDeg;
constexpr double kNeckYaw = 56 * kDeg, kNeckPitch = 42 * kDeg;

// Shares of head and eyes in looking at a point (from memory: the head does most of large shifts, the eyes the rest).
constexpr double kHeadYawShare = 0.85, kHeadPitchShare = 0.75;

// The shoulder joint follows the hand a little (scapula).
constexpr double kScapulaGain = 0.05;

// Standing legs are nearly straight.
constexpr double kLegStretch = 0.9985;

Quaterniond AboutX(double a) {
  return {std::cos(0.5 * a), std::sin(0.5 * a), 0, 0};
}
Quaterniond AboutY(double a) {
  return {std::cos(0.5 * a), 0, std::sin(0.5 * a), 0};
}
Quaterniond AboutZ(double a) {
  return {std::cos(0.5 * a), 0, 0, std::sin(0.5 * a)};
}

Vector3d TurnZ(double angle, const Vector3d& v) {
  const double c = std::cos(angle), s = std::sin(angle);
  return {c * v.x() - s * v.y(), s * v.x() + c * v.y(), v.z()};
}

double Mirror(Side side) {
  return side == kRight ? 1 : -1;
}

}  // namespace

PersonBuild BuildPerson(const PersonSpec& person, const Bench& bench) {
  PersonBuild b;
  const double h = person.stature_m;
  b.seated = person.seated;
  b.stature = h;
  // Depths and breadths grow with the root of mass over stature squared; 1 at a body-mass index of 23.
  b.girth = std::clamp(std::sqrt(person.mass_kg / (23 * h * h)), 0.8, 1.35);

  // Spine points as shares of hip to shoulder: waist .26, nipples (.720 of stature, Winter 2009) .66. Base of the neck:
  // cervicale .044 of stature above the acromion (ANSUR, from memory).
  const double trunk = person.shoulder_height_m - person.hip_height_m;
  b.lumbar = 0.26 * trunk;
  b.thorax = 0.66 * trunk;
  b.shoulder = trunk;
  b.neck = trunk + 0.044 * h;
  const double neck_to_eyes = person.eye_height_m - person.hip_height_m - b.neck;
  b.neck_length = 0.45 * neck_to_eyes;
  b.head_rise = 0.55 * neck_to_eyes;
  b.head_height = person.head_height_m;
  b.head_radius = 0.40 * person.head_height_m;
  b.shoulder_half = person.shoulder_half_breadth_m;
  b.hip_half = person.hip_half_breadth_m;
  b.upper_arm = person.upper_arm_m;
  b.forearm = person.forearm_m;
  b.hand = person.hand_m;

  const double ankle_height = 0.039 * h;  // Winter 2009
  b.thigh = person.hip_height_m - person.knee_height_m;
  b.shank = person.knee_height_m - ankle_height;
  b.foot = 0.152 * h;  // Winter 2009

  const double belly = 0.066 * h * b.girth;  // radius of the abdomen's capsule
  const double y = -(bench.standoff_m + belly);
  // Standing relaxed: the hips sink by 0.5 % of the leg, so that no knee is ever locked. Seated: hip joints .05 of stature above
  // the seat (sitting height .520, hip to crown .470 of stature). Nobody sits far below the work: a seat is raised until the
  // elbows (rest height .145 of stature over the seat, ANSUR II) are at most 2 cm under the top.
  const double seat = std::max(person.seat_height_m, bench.height_m - 0.145 * h - 0.02);
  const double z = person.seated ? seat + 0.05 * h : person.hip_height_m - 0.005 * (b.thigh + b.shank);
  b.p_WPelvis = {0, y, z};
  // Seated with the thighs level where the seat's height lets them be, the feet on the floor, on a high stool on its foot rest.
  const double leg = b.thigh + b.shank;
  const double fall = std::min({z - ankle_height, 1.2 * b.shank, 0.9 * leg});
  const double back = std::min(0.6 * b.shank, std::sqrt(std::max(0.0, b.shank * b.shank - fall * fall)));
  const double ahead = std::min(b.thigh - back, std::sqrt(0.9 * leg * leg - fall * fall));
  for (const Side side : {kLeft, kRight}) {
    const double x = Mirror(side) * b.hip_half;
    b.p_WAnkle[side] = person.seated ? Vector3d(x, y + ahead, z - fall) : Vector3d(x, y - 0.01 * h, ankle_height);
  }
  return b;
}

TrunkPose PoseTrunk(const PersonBuild& build, const TrunkInput& in) {
  TrunkPose t;
  t.turn = in.turn;
  const Quaterniond q_turn = AboutZ(in.turn);
  t.q_WT = q_turn * AboutZ(in.twist) * AboutX(-in.lean) * AboutY(in.roll);
  t.R_WT = t.q_WT.toRotationMatrix();
  t.step_W = in.step_W;
  t.pelvis = build.p_WPelvis + in.shift_W + in.step_W;
  // The pelvis takes 40 % of the lean, the spine above it the rest.
  t.lumbar = t.pelvis + q_turn * (AboutX(-0.4 * in.lean) * Vector3d(0, 0, build.lumbar));
  const auto above = [&](double height) -> Vector3d { return t.R_WT.col(2) * (height - build.lumbar + in.breath_m) + t.lumbar; };
  t.thorax = above(build.thorax);
  t.neck = above(build.neck);
  const Vector3d between = above(build.shoulder);
  const Vector3d hip_axis = TurnZ(0.5 * in.turn, Vector3d::UnitX());
  for (const Side side : {kLeft, kRight}) {
    t.shoulder[side] = between + Mirror(side) * build.shoulder_half * t.R_WT.col(0);
    t.hip[side] = t.pelvis + Mirror(side) * build.hip_half * hip_axis;
  }
  return t;
}

Vector3d YawToWorld(const PersonBuild& build, double turn, const Vector3d& p_Y) {
  return build.p_WPelvis + TurnZ(turn, p_Y - build.p_WPelvis);
}
Vector3d WorldToYaw(const PersonBuild& build, double turn, const Vector3d& p_W) {
  return YawToWorld(build, -turn, p_W);
}

double FreeFold(double first, double second) {
  const double bend = 36 * kDeg;  // between the bones: an elbow flexed by 144°
  return std::sqrt(first * first + second * second - 2 * first * second * std::cos(bend)) / (first + second);
}

TwoBones SolveTwoBones(const Vector3d& a, const Vector3d& c, double first, double second, const Vector3d& pole,
                       double free_stretch) {
  const double full_stretch = 0.15 * free_stretch + 0.85;
  const double length = first + second;
  const Vector3d line = c - a;
  const double wanted = line.norm();
  const Vector3d u = line / wanted;
  TwoBones out;
  out.stretch = wanted / length;
  double d = SoftLimit(out.stretch, free_stretch, full_stretch) * length;
  const double fold = FreeFold(first, second) * length;
  const double least = fold - 0.045 * length;  // nearly 150°, the AAOS range
  if (d < fold) d = fold - SoftLimit(fold - d, 0, fold - least);
  const double along = (first * first - second * second + d * d) / (2 * d);
  const double beside = std::sqrt(std::max(0.0, first * first - along * along));
  const Vector3d e = (pole - pole.dot(u) * u).normalized();
  out.middle = a + along * u + beside * e;
  out.end = a + d * u;
  out.hinge = e.cross(u);
  return out;
}

Matrix3d HandInForearm(const WristAngles& w) {
  return (AboutY(w.roll) * AboutX(w.flex) * AboutZ(w.deviate)).toRotationMatrix();
}

std::array<double, 2> RollRange(Side side) {
  return side == kRight ? std::array{kRollMin, kRollMax} : std::array{-kRollMax, -kRollMin};
}

WristAngles InWristRange(Side side, WristAngles w) {
  const auto [lo, hi] = RollRange(side);
  // Angles beyond a half turn from neutral come round the other way.
  const double middle = 0.5 * (lo + hi);
  w.roll = std::clamp(middle + std::remainder(w.roll - middle, 2 * std::numbers::pi), lo, hi);
  w.flex = std::clamp(w.flex, kFlexMin, kFlexMax);
  // To the left is towards the thumb for the right hand.
  const double right = side == kRight ? kUlnarMax : kRadialMax, left = side == kRight ? kRadialMax : kUlnarMax;
  w.deviate = std::clamp(w.deviate, -right, left);
  return w;
}

WristAngles WristAnglesFor(Side side, const Matrix3d& R_FH) {
  return InWristRange(side, {std::atan2(R_FH(0, 2), R_FH(2, 2)), std::asin(std::clamp(-R_FH(1, 2), -1.0, 1.0)),
                             std::atan2(R_FH(1, 0), R_FH(1, 1))});
}

WristAngles AimFinger(Side side, double roll, double bend, const Vector3d& d_F) {
  const double c = std::cos(roll), s = std::sin(roll);
  const Vector3d d(c * d_F.x() - s * d_F.z(), d_F.y(), s * d_F.x() + c * d_F.z());  // with the roll undone
  WristAngles w{roll, 0, 0};
  w.deviate = InWristRange(side, {roll, 0, -std::asin(std::clamp(d.x() / std::cos(bend), -1.0, 1.0))}).deviate;
  w.flex = std::remainder(std::atan2(d.z(), d.y()) - std::atan2(-std::sin(bend), std::cos(w.deviate) * std::cos(bend)),
                          2 * std::numbers::pi);
  return InWristRange(side, w);
}

ArmPose PoseArm(const PersonBuild& build, const TrunkPose& trunk, Side side, const Vector3d& p_WWrist, const WristAngles& angles,
                double swivel) {
  const double m = Mirror(side);
  ArmPose arm;
  const Vector3d p_TWrist = trunk.R_WT.transpose() * (p_WWrist - trunk.thorax);
  const Vector3d p_TUsual(m * 0.12 * build.stature, 0.18 * build.stature, -0.12 * build.stature);
  arm.shoulder = trunk.shoulder[side] + trunk.R_WT * (kScapulaGain * (p_TWrist - p_TUsual));
  // Out, back and down: never along the line to a hand that works in front of the body.
  const Vector3d pole_T(m * std::sin(0.60 + swivel), -0.45, -0.85 * std::cos(0.60 + swivel));
  const TwoBones bones = SolveTwoBones(arm.shoulder, p_WWrist, build.upper_arm, build.forearm, trunk.R_WT * pole_T);
  arm.elbow = bones.middle;
  arm.wrist = bones.end;
  arm.stretch = bones.stretch;
  const Vector3d y = (arm.wrist - arm.elbow) / build.forearm;
  arm.R_WF.col(0) = bones.hinge;
  arm.R_WF.col(1) = y;
  arm.R_WF.col(2) = bones.hinge.cross(y);
  arm.R_WH = arm.R_WF * HandInForearm(angles);
  return arm;
}

double MedialRotation(const TrunkPose& trunk, Side side, const ArmPose& arm) {
  const Vector3d u = trunk.R_WT.transpose() * (arm.elbow - arm.shoulder).normalized(),
                 n = trunk.R_WT.transpose() * arm.R_WF.col(0);
  const Vector3d n0 = Eigen::Quaterniond::FromTwoVectors(-Vector3d::UnitZ(), u) * Vector3d::UnitX();
  return (side == kRight ? 1 : -1) * std::atan2(n0.cross(n).dot(u), n0.dot(n));
}

HeadPose PoseHead(const PersonBuild& build, const TrunkPose& trunk, const Vector3d& p_WLook) {
  // Aimed from where the head's middle is with the neck straight; the few centimetres it moves are the eyes' to mend.
  const Vector3d straight = trunk.neck + trunk.R_WT.col(2) * (build.neck_length + build.head_rise);
  const Vector3d d = trunk.R_WT.transpose() * (p_WLook - straight);
  const double yaw = SoftLimit(kHeadYawShare * std::atan2(-d.x(), d.y()), 0.6 * kNeckYaw, kNeckYaw);
  const double pitch = SoftLimit(kHeadPitchShare * std::atan2(d.z(), std::hypot(d.x(), d.y())), 0.6 * kNeckPitch, kNeckPitch);
  HeadPose head;
  head.q_WHd = trunk.q_WT * AboutZ(yaw) * AboutX(pitch);
  const Matrix3d R_WHd = head.q_WHd.toRotationMatrix();
  const Vector3d joint =
      trunk.neck + build.neck_length * ((trunk.q_WT * AboutZ(0.4 * yaw) * AboutX(0.4 * pitch)) * Vector3d::UnitZ());
  head.middle = joint + build.head_rise * R_WHd.col(2);
  const double half = 0.5 * build.head_height - build.head_radius;
  head.low = head.middle - half * R_WHd.col(2);
  head.high = head.middle + half * R_WHd.col(2);
  head.eyes = head.middle + build.head_radius * R_WHd.col(1);
  return head;
}

void PoseLegs(const PersonBuild& build, const TrunkPose& trunk, BodyPose* pose) {
  const double feet_turn = 0.4 * trunk.turn;
  const Vector3d forward = TurnZ(feet_turn, Vector3d::UnitY());
  const Vector3d pole = build.seated ? Vector3d(forward + Vector3d::UnitZ()) : forward;
  for (const Side side : {kLeft, kRight}) {
    const Vector3d ankle = YawToWorld(build, feet_turn, build.p_WAnkle[side]) + trunk.step_W;
    const TwoBones leg = SolveTwoBones(trunk.hip[side], ankle, build.thigh, build.shank, pole, kLegStretch);
    pose->p_W[static_cast<size_t>(OfSide(kHipL, side))] = trunk.hip[side];
    pose->p_W[static_cast<size_t>(OfSide(kKneeL, side))] = leg.middle;
    pose->p_W[static_cast<size_t>(OfSide(kAnkleL, side))] = leg.end;
    // Ankle over the rear quarter of the foot; the toe's capsule lies on the floor.
    pose->p_W[static_cast<size_t>(OfSide(kToeL, side))] =
        leg.end + 0.72 * build.foot * forward - Vector3d(0, 0, 0.02 * build.stature);
  }
}

}  // namespace dryrig
