#pragma once

#include <memory>
#include <vector>

#include "BulletDynamics/Featherstone/btMultiBodyConstraintSolver.h"
#include "BulletDynamics/Featherstone/btMultiBodyDynamicsWorld.h"
#include "BulletDynamics/Featherstone/btMultiBodyJointMotor.h"
#include "BulletDynamics/Featherstone/btMultiBodyLinkCollider.h"
#include "sim/bullet.h"
#include "sim/run.h"

namespace dryrig::test {

/// A take's arm, bench and props in bare Bullet, nothing else: no person, no camera, nothing recorded. What ours is compared to.
class BulletLoop {
 public:
  enum class How {
    kPlain,  // as a user of Bullet would write it: one position motor a joint, everything as it comes
    kLean,   // as we set it up: torques of a spring a joint, props asleep, boxes of what sleeps not renewed
  };
  BulletLoop(const TakeSetup& setup, How how);
  ~BulletLoop();
  BulletLoop(const BulletLoop&) = delete;
  BulletLoop& operator=(const BulletLoop&) = delete;
  /// One tick, the joints' targets on a wave: the arm is never still.
  void Step();

 private:
  void Add(const Shape& shape, const Eigen::Isometry3d& X_WS, double mass_kg, int group, int mask);

  How how_;
  double hz_;
  Eigen::VectorXd home_, stiffness_, damping_;
  BulletShapes shapes_;
  btDefaultCollisionConfiguration configuration_;
  btCollisionDispatcher dispatcher_{&configuration_};
  btDbvtBroadphase broadphase_;
  btMultiBodyConstraintSolver solver_;
  btMultiBodyDynamicsWorld world_{&dispatcher_, &broadphase_, &solver_, &configuration_};
  std::unique_ptr<btMultiBody> arm_;
  std::vector<std::unique_ptr<btMultiBodyLinkCollider>> colliders_;
  std::vector<std::unique_ptr<btMultiBodyJointMotor>> motors_;
  std::vector<std::unique_ptr<btRigidBody>> bodies_;
  long ticks_ = 0;
};

}  // namespace dryrig::test
