#include "sim/startle.h"

#include "sim/motion.h"
#include "sim/skeleton.h"

namespace dryrig {

using Eigen::Vector3d;

namespace {

// A whole body begins to move about 0.2 s after what it saw (simple reactions to light, from memory).
constexpr double kReaction_s = 0.2;
constexpr double kUp_s = 0.3, kHeld_s = 0.4, kBack_s = 1.3, kWhole_s = kUp_s + kHeld_s + kBack_s;

/// The body leant about its pelvis: trunk, head and shoulders turn, hands stay, elbows follow.
BodyPose Leant(const BodyPose& pose, const Vector3d& away_W, double angle) {
  BodyPose out = pose;
  const Eigen::Quaterniond turn(Eigen::AngleAxisd(angle, Vector3d::UnitZ().cross(away_W).normalized()));
  const Vector3d& pivot = pose.p_W[kPelvis];
  for (const int i : {int{kLumbar}, int{kThorax}, int{kNeck}, int{kHeadLow}, int{kHeadHigh}, int{kShoulderL}, int{kShoulderR}}) {
    const auto k = static_cast<size_t>(i);
    out.p_W[k] = pivot + turn * (pose.p_W[k] - pivot);
  }
  out.q_WT = (turn * pose.q_WT).normalized();
  out.q_WHd = (turn * pose.q_WHd).normalized();
  out.gaze_W = turn * pose.gaze_W;
  for (const Side side : {kLeft, kRight}) {
    const auto at = [&](BodyPoint left) { return static_cast<size_t>(OfSide(left, side)); };
    const size_t shoulder = at(kShoulderL), elbow = at(kElbowL), wrist = at(kWristL);
    const Vector3d middle = 0.5 * (pose.p_W[shoulder] + pose.p_W[wrist]);
    constexpr double kAlmostStraight = 0.998;  // the pose's own arms are less stretched
    const TwoBones arm = SolveTwoBones(out.p_W[shoulder], pose.p_W[wrist], (pose.p_W[elbow] - pose.p_W[shoulder]).norm(),
                                       (pose.p_W[wrist] - pose.p_W[elbow]).norm(), pose.p_W[elbow] - middle, kAlmostStraight);
    const Vector3d drawn = arm.end - pose.p_W[wrist];
    out.p_W[elbow] = arm.middle;
    out.p_W[wrist] = arm.end;
    for (int i = 0; i < kHandLandmarks; ++i) out.p_W[static_cast<size_t>(HandPoint(side, i))] += drawn;
  }
  return out;
}

}  // namespace

double StartleShare(double since_s) {
  if (since_s >= kWhole_s) return 0;
  return MinJerk(since_s / kUp_s) - MinJerk((since_s - kUp_s - kHeld_s) / kBack_s);
}

BodyPose WithStartles(BodyPose pose, const std::vector<Startle>& startles, double t_s) {
  for (const Startle& startle : startles) {  // none overlaps another
    const double share = StartleShare(t_s - startle.start_s);
    if (share > 0) return Leant(pose, startle.away_W, share * startle.lean);
  }
  return pose;
}

void Reaction::See(double t_s, const Clearance& clearance, double closing_mps) {
  if (spec_.lean <= 0 || clearance.distance_m > spec_.within_m || closing_mps < spec_.closing_mps) return;
  if (!startles_.empty() && t_s < startles_.back().start_s + kWhole_s) return;
  Vector3d away = clearance.p_WPerson - clearance.p_WArm;
  away.z() = 0;
  if (away.norm() < 0.01) away = -(performance_->PoseAt(t_s).q_WT * Vector3d::UnitY());  // from straight above: back
  away.z() = 0;
  startles_.push_back({t_s + kReaction_s, away.normalized(), spec_.lean});
}

}  // namespace dryrig
