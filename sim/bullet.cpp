#include "sim/bullet.h"

#include <Eigen/Eigenvalues>

namespace dryrig {

using Eigen::Isometry3d;
using Eigen::Matrix3d;
using Eigen::Quaterniond;
using Eigen::Vector3d;

btTransform ToBt(const Isometry3d& X) {
  const Matrix3d R = X.linear();
  const btMatrix3x3 basis(R(0, 0), R(0, 1), R(0, 2), R(1, 0), R(1, 1), R(1, 2), R(2, 0), R(2, 1), R(2, 2));
  return btTransform(basis, ToBt(Vector3d(X.translation())));
}

Isometry3d FromBt(const btTransform& X) {
  Isometry3d out = Isometry3d::Identity();
  for (int row = 0; row < 3; ++row) {
    for (int col = 0; col < 3; ++col) out(row, col) = X.getBasis()[row][col];
    out(row, 3) = X.getOrigin()[row];
  }
  return out;
}

btCollisionShape* BulletShapes::Keep(std::unique_ptr<btCollisionShape> shape) {
  shape->setMargin(shape->getShapeType() == SPHERE_SHAPE_PROXYTYPE || shape->getShapeType() == CAPSULE_SHAPE_PROXYTYPE
                       ? shape->getMargin()  // a capsule's and a sphere's margin is its radius
                       : 0);
  shapes_.push_back(std::move(shape));
  return shapes_.back().get();
}

btCollisionShape* BulletShapes::Make(const Shape& shape) {
  switch (shape.kind) {
    case ShapeKind::kSphere:
      return Keep(std::make_unique<btSphereShape>(shape.radius_m));
    case ShapeKind::kCapsule:
      return Keep(std::make_unique<btCapsuleShapeZ>(shape.radius_m, 2 * shape.half_length_m));
    case ShapeKind::kCylinder:
      return Keep(std::make_unique<btCylinderShapeZ>(btVector3(shape.radius_m, shape.radius_m, shape.half_length_m)));
    case ShapeKind::kBox:
      return Keep(std::make_unique<btBoxShape>(ToBt(shape.half_m)));
    case ShapeKind::kHull:
      break;
  }
  auto hull = std::make_unique<btConvexHullShape>();
  for (const Vector3d& point : shape.points) hull->addPoint(ToBt(point), false);
  hull->recalcLocalAabb();
  return Keep(std::move(hull));
}

btCollisionShape* BulletShapes::Make(std::span<const Body> bodies, const Isometry3d& X_FL) {
  auto compound = std::make_unique<btCompoundShape>();
  for (const Body& body : bodies) compound->addChildShape(ToBt(X_FL * body.X_LS), Make(body.shape));
  return Keep(std::move(compound));
}

Isometry3d PrincipalFrame(const Link& link, Vector3d* moments) {
  const Eigen::SelfAdjointEigenSolver<Matrix3d> axes(link.I_LCom);
  Matrix3d R = axes.eigenvectors();
  if (R.determinant() < 0) R.col(2) *= -1;
  *moments = axes.eigenvalues();
  Isometry3d X_LF = Isometry3d::Identity();
  X_LF.linear() = R;
  X_LF.translation() = link.p_LCom;
  return X_LF;
}

std::unique_ptr<btMultiBody> MakeMultiBody(const ArmModel& arm, const Isometry3d& X_WB, const Eigen::VectorXd& q) {
  const btVector3 none(0, 0, 0);
  auto body = std::make_unique<btMultiBody>(arm.dof(), 0, none, /*fixedBase=*/true, /*canSleep=*/false);
  body->setBaseWorldTransform(ToBt(X_WB));
  body->setLinearDamping(0);
  body->setAngularDamping(0);
  body->setUseGyroTerm(true);
  body->setHasSelfCollision(false);
  Isometry3d X_PF = Isometry3d::Identity();  // the parent's principal frame in the parent; the base's is B itself
  for (int i = 0; i < arm.dof(); ++i) {
    const Joint& joint = arm.joints[i];
    Vector3d moments;
    const Isometry3d X_LF = PrincipalFrame(arm.links[i], &moments);
    const Isometry3d X_FJ0 = X_PF.inverse() * joint.X_PJ;  // joint frame seen from the parent's principal frame
    const Matrix3d R_FparentF = X_FJ0.linear() * X_LF.linear();
    const btQuaternion parent_to_this = ToBt(Quaterniond(R_FparentF.transpose()).normalized());
    const btVector3 axis = ToBt(Vector3d(X_LF.linear().transpose() * joint.axis));
    const btVector3 to_pivot = ToBt(Vector3d(X_FJ0.translation()));
    const btVector3 pivot_to_com = ToBt(Vector3d(X_LF.linear().transpose() * X_LF.translation()));
    if (joint.kind == JointKind::kRevolute) {
      body->setupRevolute(i, arm.links[i].mass_kg, ToBt(moments), i - 1, parent_to_this, axis, to_pivot, pivot_to_com, true);
    } else {
      body->setupPrismatic(i, arm.links[i].mass_kg, ToBt(moments), i - 1, parent_to_this, axis, to_pivot, pivot_to_com, true);
    }
    X_PF = X_LF;
  }
  body->finalizeMultiDof();
  for (int i = 0; i < arm.dof(); ++i) body->setJointPos(i, q[i]);
  return body;
}

}  // namespace dryrig
