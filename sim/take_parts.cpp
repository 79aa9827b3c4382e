#include "sim/take_parts.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

Take PrepareTake(const TakeSetup& setup, const Performance& performance) {
  const ArmModel& arm = setup.stage.arm;
  Take take;
  take.id = IdentityOf(setup);
  take.duration_s = setup.max_s > 0 ? std::min(setup.max_s, performance.duration_s()) : performance.duration_s();
  take.beats = performance.beats();
  take.intents = performance.intents();
  take.sentences = performance.sentences();
  take.camera = setup.stage.camera;
  take.person = performance.body();
  take.bench_top = BenchTop(setup.stage.bench);
  take.keep_out = setup.stage.bench.keep_out;
  take.X_WB = setup.stage.bench.X_WB;
  take.arm_bodies = ArmBodies(arm);
  for (const Joint& joint : arm.joints) {
    take.joints.push_back({joint.name, joint.lower, joint.upper, joint.velocity, joint.acceleration, joint.effort,
                           joint.kind == JointKind::kPrismatic});
  }
  for (const Link& link : arm.links) take.moving_mass_kg += link.mass_kg;
  take.moving_mass_kg -= setup.stage.camera.mass_kg;
  take.payload_kg = setup.stage.camera.mass_kg + setup.faults.payload_kg;
  take.faults = setup.faults;
  for (const Prop& prop : setup.lesson.props) {
    take.props.push_back({prop.name, prop.shape, prop.colour, prop.tip_m.value_or(Eigen::Vector3d::Zero())});
  }
  return take;
}

double ApproachSpeed(const Clearance& near, const ArmBody& arm_body, const PersonCapsule& capsule,
                     const std::vector<Eigen::Isometry3d>& X_WL, const std::vector<Eigen::Isometry3d>& X_WL_before,
                     const BodyPose& pose, const BodyPose& before, double dt_s) {
  const Eigen::Vector3d apart = near.p_WArm - near.p_WPerson;
  const double length = apart.norm();
  if (length < 1e-12) return 0;
  Eigen::Vector3d arm_moved = Eigen::Vector3d::Zero();
  if (arm_body.link >= 0) {
    const auto link = static_cast<size_t>(arm_body.link);
    arm_moved = near.p_WArm - X_WL_before[link] * (X_WL[link].inverse() * near.p_WArm);
  }
  const Eigen::Vector3d& a = pose.p_W[static_cast<size_t>(capsule.a)];
  const Eigen::Vector3d& b = pose.p_W[static_cast<size_t>(capsule.b)];
  const double squared = (b - a).squaredNorm();
  const double share = squared > 0 ? std::clamp((near.p_WPerson - a).dot(b - a) / squared, 0.0, 1.0) : 0.0;
  const Eigen::Vector3d a_moved = a - before.p_W[static_cast<size_t>(capsule.a)];
  const Eigen::Vector3d b_moved = b - before.p_W[static_cast<size_t>(capsule.b)];
  const Eigen::Vector3d person_moved = (1 - share) * a_moved + share * b_moved;
  const double side = near.distance_m < 0 ? -1 : 1;  // inside each other the nearest points have changed places
  return -side * (arm_moved - person_moved).dot(apart) / length / dt_s;
}

}  // namespace dryrig
