#pragma once

#include <vector>

#include "sim/arm_dynamics.h"
#include "sim/performance.h"
#include "sim/reflected_mass.h"
#include "sim/solid.h"
#include "sim/take.h"

namespace dryrig {

/// How fast points of a person can change their speed, m/s²: several times what shipped performances do, and what people do at
/// work. Bounds between ticks rest on it.
inline constexpr double kMostPersonAcceleration_mps2 = 100;
/// More than a point can go beyond the straight way between two instants `dt_s` apart, under that.
inline constexpr double BeyondStraight_m(double dt_s) {
  return 0.25 * kMostPersonAcceleration_mps2 * dt_s * dt_s;
}

/// A take's bodies at a physics tick. `parts` are the arm's moving bodies, `limbs` the person's capsules, in the take's order.
struct TakeInstant {
  size_t tick = 0;
  std::vector<Eigen::Isometry3d> X_WL;
  BodyPose pose, pose_before;  // at the tick and one tick before
  std::vector<Solid> parts, limbs;

  /// No point of the capsule is faster, from this tick and the one before.
  double MostLimbSpeed_mps(const Take& take, int capsule, double dt_s) const;
};

/// Arm bodies from the recorded joints, the person from the performance, at physics rate and without interpolation.
class TakeMotion {
 public:
  /// All outlive the motion. The performance begins `lead_s` into the take; before, it holds its beginning. @throws RunError where
  /// the performance is not the one that the take's frames show, or the arm is another.
  TakeMotion(const Take& take, const ArmModel& arm, const Performance& performance, double lead_s = 0);

  const Take& take() const { return *take_; }
  const ArmModel& arm() const { return *arm_; }
  double dt_s() const { return 1 / take_->id.physics_hz; }
  size_t ticks_per_frame() const { return ticks_per_frame_; }
  /// Index in Take::arm_bodies of parts[0].
  int first_part() const { return first_part_; }
  int parts() const { return static_cast<int>(spans_.size()); }

  void At(size_t tick, TakeInstant* out) const;
  /// The arm alone: its links in W, and the bodies on them.
  void LinksAt(const JointVector& q, std::vector<Eigen::Isometry3d>* X_WL) const;
  void PartsAt(const JointVector& q, std::vector<Eigen::Isometry3d>* X_WL, std::vector<Solid>* parts) const;
  /// How far a point of a part can lie from each joint's axis.
  const JointVector& SpanOfPart(int part) const { return spans_[static_cast<size_t>(part)]; }
  /// No point of a part is faster at joint rates qd: its ball's middle, and its turning about that.
  double MostSpeed_mps(const std::vector<Eigen::Isometry3d>& X_WL, int part, const JointVector& qd) const;
  /// Jacobian of a point of a part, in W.
  PointRows PointRowsAt(const std::vector<Eigen::Isometry3d>& X_WL, int part, const Eigen::Vector3d& p_W) const;
  /// Speed of a point of a person's capsule, from this tick and the one before.
  Eigen::Vector3d LimbVelocity(const TakeInstant& now, int capsule, const Eigen::Vector3d& p_W) const;
  /// Ball that holds a part or limb, for bounds.
  struct Ball {
    Eigen::Vector3d middle_W;
    double radius_m;
  };
  Ball BallOfPart(int part, const std::vector<Eigen::Isometry3d>& X_WL) const;
  Ball BallOfLimb(int capsule, const BodyPose& pose) const;

 private:
  BodyPose PoseAt(double t_s) const;
  int LinkOf(int part) const { return take_->arm_bodies[static_cast<size_t>(first_part_ + part)].link; }

  const Take* take_;
  const ArmModel* arm_;
  const Performance* performance_;
  double lead_s_;
  size_t ticks_per_frame_ = 1;
  int first_part_ = 0;
  std::vector<JointVector> spans_;
  std::vector<double> balls_;
};

}  // namespace dryrig
