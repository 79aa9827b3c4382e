#include "tests/bench/bullet_loops.h"

#include <cmath>
#include <numbers>

#include "sim/arm_world.h"

namespace dryrig::test {

BulletLoop::BulletLoop(const TakeSetup& setup, How how) : how_(how), hz_(setup.physics_hz), home_(setup.stage.arm.home) {
  const Stage& stage = setup.stage;
  world_.setGravity(btVector3(0, 0, -9.81));
  if (how == How::kLean) world_.setForceUpdateAllAabbs(false);
  arm_ = MakeMultiBody(stage.arm, stage.bench.X_WB, home_);
  world_.addMultiBody(arm_.get());
  for (int i = 0; i < stage.arm.dof(); ++i) {
    Eigen::Vector3d moments;
    const Eigen::Isometry3d X_FL = PrincipalFrame(stage.arm.links[i], &moments).inverse();
    colliders_.push_back(std::make_unique<btMultiBodyLinkCollider>(arm_.get(), i));
    colliders_.back()->setCollisionShape(shapes_.Make(stage.arm.links[i].bodies, X_FL));
    arm_->getLink(i).m_collider = colliders_.back().get();
  }
  btAlignedObjectArray<btQuaternion> turn;
  btAlignedObjectArray<btVector3> place;
  arm_->forwardKinematics(turn, place);
  arm_->updateCollisionObjectWorldTransforms(turn, place);
  for (auto& collider : colliders_) world_.addCollisionObject(collider.get(), 4, 2);
  if (how == How::kPlain) {
    for (int i = 0; i < stage.arm.dof(); ++i) {
      motors_.push_back(std::make_unique<btMultiBodyJointMotor>(arm_.get(), i, 0, stage.arm.joints[i].effort / hz_));
      motors_.back()->finalizeMultiDof();
      world_.addMultiBodyConstraint(motors_.back().get());
    }
  } else {
    const double omega = 2 * std::numbers::pi * 3;
    stiffness_ = omega * omega * MassMatrix(stage.arm, home_).diagonal();
    damping_ = 2 / omega * stiffness_;
  }
  const Body top = BenchTop(stage.bench);
  Add(top.shape, top.X_LS, 0, 1, 2);
  for (const Prop& prop : setup.lesson.props) {
    Eigen::Isometry3d X_WP = Eigen::Isometry3d::Identity();
    X_WP.translation() = Eigen::Vector3d(prop.at_m.x(), prop.at_m.y(), stage.bench.height_m + prop.shape.Below());
    Add(prop.shape, X_WP, prop.mass_kg, 2, 7);
    if (how == How::kLean) bodies_.back()->forceActivationState(ISLAND_SLEEPING);
  }
}

BulletLoop::~BulletLoop() {
  for (auto& motor : motors_) world_.removeMultiBodyConstraint(motor.get());
  for (auto& body : bodies_) world_.removeRigidBody(body.get());
  for (auto& collider : colliders_) world_.removeCollisionObject(collider.get());
  world_.removeMultiBody(arm_.get());
}

void BulletLoop::Step() {
  const double wave = 0.1 * std::sin(2 * static_cast<double>(ticks_++) / hz_);
  for (int i = 0; i < static_cast<int>(home_.size()); ++i) {
    if (how_ == How::kPlain)
      motors_[static_cast<size_t>(i)]->setPositionTarget(home_[i] + wave, 0.5);
    else
      arm_->addJointTorque(i, stiffness_[i] * (home_[i] + wave - arm_->getJointPos(i)) - damping_[i] * arm_->getJointVel(i));
  }
  world_.stepSimulation(1 / hz_, 0);
}

void BulletLoop::Add(const Shape& shape, const Eigen::Isometry3d& X_WS, double mass_kg, int group, int mask) {
  btCollisionShape* solid = shapes_.Make(shape);
  btVector3 inertia(0, 0, 0);
  if (mass_kg > 0) solid->calculateLocalInertia(mass_kg, inertia);
  bodies_.push_back(std::make_unique<btRigidBody>(mass_kg, nullptr, solid, inertia));
  bodies_.back()->setWorldTransform(ToBt(X_WS));
  world_.addRigidBody(bodies_.back().get(), group, mask);
}

}  // namespace dryrig::test
