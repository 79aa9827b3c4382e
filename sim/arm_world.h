#pragma once

#include <Eigen/Geometry>
#include <memory>
#include <vector>

#include "scenes/lesson.h"
#include "scenes/stage.h"
#include "sim/faults.h"
#include "sim/performance.h"

namespace dryrig {

/// Joint set point at physics rate.
struct JointSetPoint {
  Eigen::VectorXd q, qd, qdd;
};

/// The running Bullet world: arm, bench with its shelves, props. One a take, never reset. The arm is a btMultiBody with joint
/// torques from the servo: computed torque on the modelled arm (all of its mass, `payload_known` of the camera's), latency,
/// torque limits. Props lie free as rigid bodies or follow the hand. The person is not in the world: contact is measured, never
/// pushed.
class ArmWorld {
 public:
  /// @pre physics_hz in [120, 1000]. Props start where the lesson puts them, the arm at rest under the set point q0 (sag
  /// included).
  ArmWorld(const Stage& stage, const std::vector<Prop>& props, const Eigen::VectorXd& q0, double physics_hz,
           const Faults& faults = {});
  ~ArmWorld();
  ArmWorld(const ArmWorld&) = delete;
  ArmWorld& operator=(const ArmWorld&) = delete;

  /// One physics step toward the set point of its start (delayed by the servo's latency); carried props go where they are told
  /// to be at its end, and touch nothing until they are let go. Allocates nothing but where a prop is taken or let go.
  /// @throws RunError if the state stops being finite.
  void Step(const JointSetPoint& wish, const std::vector<PropPose>& carried);

  const Eigen::VectorXd& q() const;
  const Eigen::VectorXd& qd() const;
  const Eigen::VectorXd& torque() const;               // as applied in the last step, N·m
  const std::vector<Eigen::Isometry3d>& X_WL() const;  // link poses at q()
  Eigen::Isometry3d X_WC() const;
  Eigen::Isometry3d X_WP(int prop) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// Inverse dynamics of the modelled arm by recursive Newton–Euler: torques for (q, qd, qdd) under gravity along -z of W.
Eigen::VectorXd InverseDynamics(const ArmModel& arm, const Eigen::Isometry3d& X_WB, const Eigen::VectorXd& q,
                                const Eigen::VectorXd& qd, const Eigen::VectorXd& qdd);
Eigen::MatrixXd MassMatrix(const ArmModel& arm, const Eigen::VectorXd& q);

}  // namespace dryrig
