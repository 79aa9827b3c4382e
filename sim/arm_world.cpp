#include "sim/arm_world.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>

#include "BulletDynamics/Featherstone/btMultiBodyConstraintSolver.h"
#include "BulletDynamics/Featherstone/btMultiBodyDynamicsWorld.h"
#include "BulletDynamics/Featherstone/btMultiBodyLinkCollider.h"
#include "scenes/error.h"
#include "sim/bullet.h"
#include "sim/joint_drive.h"
#include "sim/kinematics.h"

namespace dryrig {

namespace {

enum Group : int { kBenchGroup = 1, kPropGroup = 2, kArmGroup = 4 };

constexpr double kFriction = 0.6;           // Coulomb, of every pair: sqrt is not taken, Bullet multiplies the two
constexpr double kRollingFriction = 0.002;  // m: a ball on a bench comes to rest

/// Where the lesson lays a prop: upright on the bench or a shelf.
Eigen::Isometry3d AtRest(const Prop& prop, const Bench& bench) {
  Eigen::Isometry3d X_WP = Eigen::Isometry3d::Identity();
  X_WP.translation() = Eigen::Vector3d(prop.at_m.x(), prop.at_m.y(), TopHeight_m(bench, prop.on) + prop.shape.Below());
  X_WP.rotate(Eigen::AngleAxisd(prop.yaw_rad, Eigen::Vector3d::UnitZ()));
  return X_WP;
}

struct Colliders {
  btDefaultCollisionConfiguration configuration;
  btCollisionDispatcher dispatcher{&configuration};
  btDbvtBroadphase broadphase;
  btMultiBodyConstraintSolver solver;
};

struct PropBody {
  std::unique_ptr<btRigidBody> body;
  bool carried = false;
};

}  // namespace

struct ArmWorld::Impl {
  Impl(const Stage& stage, const std::vector<Prop>& lesson_props, const Eigen::VectorXd& q0, double physics_hz,
       const Faults& planted)
      : arm(LoadedArm(stage.arm, stage.camera, planted.payload_kg)),
        X_WB(stage.bench.X_WB),
        dt_s(1 / physics_hz),
        faults(planted),
        drive(stage, arm, q0, physics_hz) {
    world.setGravity(btVector3(0, 0, -kGravity_mps2));
    world.setForceUpdateAllAabbs(false);  // what sleeps stands still
    world.getSolverInfo().m_splitImpulse = true;
    world.getSolverInfo().m_splitImpulsePenetrationThreshold = 0;  // never turn an overlap into speed
    q = drive.Settle(q0);
    AddBench(stage.bench);
    AddArm(q);
    for (const Prop& prop : lesson_props) AddProp(prop, stage.bench);

    qd = torque = Eigen::VectorXd::Zero(arm.dof());
    half_qd = JointVector::Zero(arm.dof());
    PlaceLinks();
  }

  ~Impl() {
    for (PropBody& prop : props) world.removeRigidBody(prop.body.get());
    for (auto& still : bench) world.removeRigidBody(still.get());
    for (auto& collider : link_colliders) world.removeCollisionObject(collider.get());
    world.removeMultiBody(multibody.get());
  }

  /// The top and the shelves: what props can lie on.
  void AddBench(const Bench& model) {
    std::vector<Body> bodies{BenchTop(model)};
    bodies.insert(bodies.end(), model.shelves.begin(), model.shelves.end());
    for (const Body& body : bodies) {
      auto still = std::make_unique<btRigidBody>(0, nullptr, shapes.Make(body.shape));
      still->setWorldTransform(ToBt(body.X_LS));
      still->setFriction(kFriction);
      still->setRollingFriction(kRollingFriction);
      world.addRigidBody(still.get(), kBenchGroup, kPropGroup | kArmGroup);
      bench.push_back(std::move(still));
    }
  }

  void AddArm(const Eigen::VectorXd& q0) {
    multibody = MakeMultiBody(arm, X_WB, q0);
    world.addMultiBody(multibody.get(), 0, 0);
    for (int i = 0; i < arm.dof(); ++i) {
      Eigen::Vector3d moments;
      const Eigen::Isometry3d X_FL = PrincipalFrame(arm.links[i], &moments).inverse();
      auto collider = std::make_unique<btMultiBodyLinkCollider>(multibody.get(), i);
      collider->setCollisionShape(shapes.Make(arm.links[i].bodies, X_FL));
      collider->setFriction(kFriction);
      multibody->getLink(i).m_collider = collider.get();
      link_colliders.push_back(std::move(collider));
    }
    btAlignedObjectArray<btQuaternion> turn;
    btAlignedObjectArray<btVector3> place;
    multibody->forwardKinematics(turn, place);
    multibody->updateCollisionObjectWorldTransforms(turn, place);
    // The first link only turns in its mount: it may overlap the bench that carries it.
    for (int i = 0; i < arm.dof(); ++i) {
      world.addCollisionObject(link_colliders[i].get(), kArmGroup, i == 0 ? kPropGroup : kPropGroup | kBenchGroup);
    }
  }

  void AddProp(const Prop& prop, const Bench& model) {
    btCollisionShape* shape = shapes.Make(prop.shape);
    btVector3 inertia(0, 0, 0);
    shape->calculateLocalInertia(prop.mass_kg, inertia);
    btRigidBody::btRigidBodyConstructionInfo info(prop.mass_kg, nullptr, shape, inertia);
    info.m_startWorldTransform = ToBt(AtRest(prop, model));
    info.m_friction = kFriction;
    info.m_rollingFriction = kRollingFriction;
    info.m_linearSleepingThreshold = 0.02;
    info.m_angularSleepingThreshold = 0.1;
    props.push_back({std::make_unique<btRigidBody>(info)});
    world.addRigidBody(props.back().body.get(), kPropGroup, kBenchGroup | kPropGroup | kArmGroup);
    props.back().body->forceActivationState(ISLAND_SLEEPING);  // it was laid there before the take
  }

  /// The hand takes a prop: it follows the hand and touches nothing, for its contacts are the person's doing.
  void Take(PropBody* prop) {
    btRigidBody* body = prop->body.get();
    body->setCollisionFlags(body->getCollisionFlags() | btCollisionObject::CF_KINEMATIC_OBJECT);
    body->forceActivationState(DISABLE_DEACTIVATION);
    body->getBroadphaseHandle()->m_collisionFilterMask = 0;
    world.refreshBroadphaseProxy(body);
    prop->carried = true;
  }

  void Release(PropBody* prop) {
    btRigidBody* body = prop->body.get();
    body->setCollisionFlags(body->getCollisionFlags() & ~btCollisionObject::CF_KINEMATIC_OBJECT);
    body->forceActivationState(ACTIVE_TAG);
    body->setDeactivationTime(0);
    body->getBroadphaseHandle()->m_collisionFilterMask = kBenchGroup | kPropGroup | kArmGroup;
    world.refreshBroadphaseProxy(body);
    prop->carried = false;
  }

  static void Place(const Eigen::Isometry3d& X_WP, btRigidBody* body) {
    const btTransform X = ToBt(X_WP);
    body->setWorldTransform(X);
    body->setInterpolationWorldTransform(X);
    body->setLinearVelocity(btVector3(0, 0, 0));
    body->setAngularVelocity(btVector3(0, 0, 0));
  }

  void CarryProps(const std::vector<PropPose>& carried) {
    if (carried.size() != props.size()) {
      throw RunError(fmt::format("arm world: {} prop poses for {} props", carried.size(), props.size()));
    }
    for (size_t i = 0; i < props.size(); ++i) {
      const bool held = carried[i].carrier >= 0;
      if (held && !props[i].carried) Take(&props[i]);
      if (held || props[i].carried) Place(carried[i].X_WP, props[i].body.get());
      if (!held && props[i].carried) Release(&props[i]);
    }
  }

  /// W goes with the bench: what stands on it is pressed the other way.
  void Shove(double t_s) {
    const Eigen::Vector3d a_W = BenchAcceleration(faults, t_s);
    if (!a_W.isZero(0)) {
      for (PropBody& prop : props) prop.body->activate(true);
    }
    world.setGravity(btVector3(-a_W.x(), -a_W.y(), -kGravity_mps2 - a_W.z()));
  }

  void PlaceLinks() {
    LinkPoses(arm, q, &X_WL);
    for (Eigen::Isometry3d& X : X_WL) X = X_WB * X;
  }

  void Step(const JointSetPoint& wish, const std::vector<PropPose>& carried) {
    CarryProps(carried);
    const double t_s = static_cast<double>(steps++) * dt_s;
    if (!faults.bench_m.isZero(0)) Shove(t_s);
    drive.Drive(wish, q, half_qd, DriveStateAt(faults, arm, t_s));
    if (!started) {
      // At rest at the start means moving half a step before it.
      started = true;
      half_qd = -dt_s / 2 * drive.FromRest(q);
      for (int i = 0; i < arm.dof(); ++i) multibody->setJointVel(i, half_qd[i]);
    }
    torque = drive.motor();
    for (int i = 0; i < arm.dof(); ++i) multibody->addJointTorque(i, drive.net()[i]);
    world.stepSimulation(dt_s, 0);
    JointVector qdd(arm.dof());
    for (int i = 0; i < arm.dof(); ++i) {
      const double rate = multibody->getJointVel(i);
      qdd[i] = (rate - half_qd[i]) / dt_s;
      half_qd[i] = rate;
      q[i] = multibody->getJointPos(i);
      qd[i] = rate + dt_s / 2 * qdd[i];
    }
    if (!q.allFinite() || !qd.allFinite()) throw RunError(fmt::format("arm {}: joint state is no longer finite", arm.name));
    drive.Learn(qdd);
    PlaceLinks();
  }

  const ArmModel arm;
  const Eigen::Isometry3d X_WB;
  const double dt_s;
  const Faults faults;
  int64_t steps = 0;
  BulletShapes shapes;
  Colliders parts;
  btMultiBodyDynamicsWorld world{&parts.dispatcher, &parts.broadphase, &parts.solver, &parts.configuration};
  std::vector<std::unique_ptr<btRigidBody>> bench;
  std::unique_ptr<btMultiBody> multibody;
  std::vector<std::unique_ptr<btMultiBodyLinkCollider>> link_colliders;
  std::vector<PropBody> props;
  JointDrive drive;
  bool started = false;
  JointVector half_qd;  // the engine's: half a step before the instant of q
  Eigen::VectorXd q, qd, torque;
  std::vector<Eigen::Isometry3d> X_WL;
};

ArmWorld::ArmWorld(const Stage& stage, const std::vector<Prop>& props, const Eigen::VectorXd& q0, double physics_hz,
                   const Faults& faults)
    : impl_(std::make_unique<Impl>(stage, props, q0, physics_hz, faults)) {}
ArmWorld::~ArmWorld() = default;

void ArmWorld::Step(const JointSetPoint& wish, const std::vector<PropPose>& carried) {
  impl_->Step(wish, carried);
}

const Eigen::VectorXd& ArmWorld::q() const {
  return impl_->q;
}
const Eigen::VectorXd& ArmWorld::qd() const {
  return impl_->qd;
}
const Eigen::VectorXd& ArmWorld::torque() const {
  return impl_->torque;
}
const std::vector<Eigen::Isometry3d>& ArmWorld::X_WL() const {
  return impl_->X_WL;
}
Eigen::Isometry3d ArmWorld::X_WC() const {
  return impl_->X_WL.back() * impl_->arm.X_EC;
}
Eigen::Isometry3d ArmWorld::X_WP(int prop) const {
  return FromBt(impl_->props.at(static_cast<size_t>(prop)).body->getWorldTransform());
}

}  // namespace dryrig
