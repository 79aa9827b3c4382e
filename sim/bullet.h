#pragma once

#include <Eigen/Geometry>
#include <memory>
#include <span>
#include <vector>

#include "BulletDynamics/Featherstone/btMultiBody.h"
#include "btBulletDynamicsCommon.h"
#include "scenes/arm.h"

namespace dryrig {

inline btVector3 ToBt(const Eigen::Vector3d& v) {
  return {v.x(), v.y(), v.z()};
}
inline btQuaternion ToBt(const Eigen::Quaterniond& q) {
  return {q.x(), q.y(), q.z(), q.w()};
}
btTransform ToBt(const Eigen::Isometry3d& X);
Eigen::Isometry3d FromBt(const btTransform& X);

/// Collision shapes with no margin beyond the solid. Shapes live as long as this does.
class BulletShapes {
 public:
  btCollisionShape* Make(const Shape& shape);
  /// Bodies fixed to one frame L, seen from the frame F that the collider moves with.
  btCollisionShape* Make(std::span<const Body> bodies, const Eigen::Isometry3d& X_FL);

 private:
  btCollisionShape* Keep(std::unique_ptr<btCollisionShape> shape);
  std::vector<std::unique_ptr<btCollisionShape>> shapes_;
};

/// Bullet keeps a link's frame F at its centre of mass along its principal axes: X_LF.
Eigen::Isometry3d PrincipalFrame(const Link& link, Eigen::Vector3d* moments);

/// The arm with its base fixed at X_WB, at posture q, no damping of the engine's own, no colliders yet.
std::unique_ptr<btMultiBody> MakeMultiBody(const ArmModel& arm, const Eigen::Isometry3d& X_WB, const Eigen::VectorXd& q);

}  // namespace dryrig
