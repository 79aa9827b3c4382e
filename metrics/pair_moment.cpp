#include "metrics/pair_moment.h"

#include <algorithm>
#include <cmath>

#include "sim/arm_span.h"

namespace dryrig {

namespace {

constexpr int kStopSteps = 24, kReactionSteps = 8;
constexpr double kOpposed = 0.5;  // cosine: the arm comes from the other side than what the body is pressed against

bool IsTrunk(std::string_view region) {
  return region == "chest" || region == "abdomen" || region == "pelvis" || region == "back";
}
bool IsArm(std::string_view region) {
  return region == "hand" || region == "lower arm" || region == "upper arm";
}

Eigen::Vector3d NormalOf(const Nearest& near, const Eigen::Vector3d& arm_middle_W, const Eigen::Vector3d& limb_middle_W) {
  // Inside each other the nearest points have changed places.
  const Eigen::Vector3d way = near.distance_m < 0 ? near.p_WA - near.p_WB : near.p_WB - near.p_WA;
  const double length = way.norm();
  if (length > 1e-9) return way / length;
  return (limb_middle_W - arm_middle_W).normalized();
}

}  // namespace

std::vector<ContactRegion> RegionsOf(const PersonBody& person, const Profile& profile) {
  std::vector<ContactRegion> out;
  for (const PersonCapsule& capsule : person.capsules) {
    ContactRegion region = FindContactRegion(capsule.region);
    if (const auto change = profile.regions.find(capsule.region); change != profile.regions.end()) {
      if (change->second.force_N > 0) region.force_N = change->second.force_N;
      if (change->second.transient_factor > 0) region.transient_factor = change->second.transient_factor;
    }
    out.push_back(region);
  }
  return out;
}

double LeastGap_m(std::string_view region) {
  if (region == "hand") return 0.1;
  if (IsArm(region)) return 0.12;
  if (region == "thigh" || region == "lower leg") return 0.18;
  return IsTrunk(region) ? 0.5 : 0.3;
}

PairExaminer::PairExaminer(const TakeMotion& motion, const Profile& profile)
    : motion_(&motion),
      profile_(&profile),
      dynamics_(motion.arm(), motion.take().X_WB),
      stopper_(motion.arm(), motion.take().X_WB),
      regions_(RegionsOf(motion.take().person, profile)) {
  for (size_t i = 0; i < regions_.size(); ++i) {
    const ContactRegion& region = regions_[i];
    const bool none = region.transient_factor == 1;
    least_permissible_.push_back(none ? 0 : SpeedForForce_mps(region.limit_N(), region.mass_kg, region.stiffness_N_per_m));
    if (IsTrunk(region.name)) trunk_.push_back(static_cast<int>(i));
  }
  const auto add = [&](const Body& body) {
    if (body.name.starts_with("zone")) return;
    still_.push_back(MakeSolid(body.shape, body.X_LS));
    still_names_.push_back(body.name);
  };
  add(motion.take().bench_top);
  for (const Body& body : motion.take().keep_out) add(body);
  effort_.resize(motion.arm().dof());
  for (int j = 0; j < motion.arm().dof(); ++j) effort_[j] = motion.arm().joints[static_cast<size_t>(j)].effort;
}

StopPlan PairExaminer::PlanAt(const TakeInstant& now) const {
  const TakeTick& tick = motion_->take().ticks[now.tick];
  return stopper_.Plan(tick.q, tick.qd);
}

PairExaminer::Approach PairExaminer::ApproachOf(const TakeInstant& now, int part, int capsule, const Nearest& near) const {
  const Solid &solid = now.parts[static_cast<size_t>(part)], &limb = now.limbs[static_cast<size_t>(capsule)];
  Approach out;
  out.n_W = NormalOf(near, solid.Inner(), 0.5 * (limb.a_W + limb.b_W));
  const PointRows J = motion_->PointRowsAt(now.X_WL, part, near.p_WA);
  const JointVector row = J.transpose() * out.n_W;
  out.robot_mps = row.dot(motion_->take().ticks[now.tick].qd);
  out.person_mps = -motion_->LimbVelocity(now, capsule, near.p_WB).dot(out.n_W);
  return out;
}

double PairExaminer::Permissible_mps(const TakeInstant& now, int part, int capsule, const Nearest& near,
                                     const Eigen::Vector3d& n_W, double* reflected_kg, double* reduced_kg) const {
  const TakeTick& tick = motion_->take().ticks[now.tick];
  JointMatrix M;
  JointVector bias;
  dynamics_.MassAndBias(tick.q, tick.qd, &M, &bias);
  *reflected_kg = ReflectedMass_kg(motion_->PointRowsAt(now.X_WL, part, near.p_WA), M, n_W);
  const ContactRegion& region = RegionOf(capsule);
  *reduced_kg = 1 / (1 / region.mass_kg + 1 / *reflected_kg);
  if (region.transient_factor == 1) return 0;
  return SpeedForForce_mps(region.limit_N(), *reduced_kg, region.stiffness_N_per_m);
}

std::optional<Clamping> PairExaminer::ClampingOf(const TakeInstant& now, int part, int capsule, const Nearest& near,
                                                 const Approach& approach) const {
  const ContactRegion& region = RegionOf(capsule);
  const double least_m = LeastGap_m(region.name);
  if (near.distance_m >= least_m) return std::nullopt;
  const Solid &solid = now.parts[static_cast<size_t>(part)], &limb = now.limbs[static_cast<size_t>(capsule)];
  std::optional<Clamping> worst;
  const auto against = [&](const Solid& wall, const std::string& name) {
    const double gap_m = DistanceOf(solid, wall).distance_m;
    if (gap_m >= least_m || (worst && worst->gap_m <= gap_m)) return;
    const Nearest behind = DistanceOf(limb, wall);
    if (behind.distance_m >= least_m) return;
    // A part of the trunk that is a neighbour of the limb has it inside: its middle tells the side.
    if (NormalOf(behind, limb.Inner(), wall.Inner()).dot(approach.n_W) < kOpposed) return;
    Clamping out;
    out.against = name;
    out.gap_m = gap_m;
    worst = out;
  };
  for (size_t i = 0; i < still_.size(); ++i) against(still_[i], still_names_[i]);
  if (IsArm(region.name)) {
    for (const int c : trunk_)
      against(now.limbs[static_cast<size_t>(c)], motion_->take().person.capsules[static_cast<size_t>(c)].name);
  }
  if (!worst) return worst;
  const TakeTick& tick = motion_->take().ticks[now.tick];
  JointMatrix M;
  JointVector bias;
  dynamics_.MassAndBias(tick.q, JointVector::Zero(tick.q.size()), &M, &bias);
  const PointRows J = motion_->PointRowsAt(now.X_WL, part, near.p_WA);
  worst->limit_N = region.force_N;
  worst->permissible_mps = region.transient_factor == 1 ? 0
                                                        : SpeedForForce_mps(region.force_N, ReflectedMass_kg(J, M, approach.n_W),
                                                                            region.stiffness_N_per_m);
  worst->press_N = PressForce_N(J, effort_, bias, approach.n_W);
  if (profile_->press_limit.value > 0) worst->press_N = std::min(worst->press_N, profile_->press_limit.value);
  return worst;
}

SeparationTerms PairExaminer::Advance(const TakeInstant& now, int part, int capsule, double distance_m,
                                      const StopPlan& plan) const {
  const TakeTick& tick = motion_->take().ticks[now.tick];
  std::vector<Eigen::Isometry3d> X_WL;
  std::vector<Solid> parts;
  JointVector q_last = tick.q;
  double last_m = distance_m, least_m = distance_m;
  const auto go = [&](const JointVector& q) {
    motion_->PartsAt(q, &X_WL, &parts);
    const double d = DistanceOf(parts[static_cast<size_t>(part)], now.limbs[static_cast<size_t>(capsule)]).distance_m;
    const double moved = MostMoved_m(motion_->SpanOfPart(part), (q - q_last).cwiseAbs());
    least_m = std::min({least_m, d, 0.5 * (d + last_m - moved)});
    last_m = d, q_last = q;
  };
  SeparationTerms out;
  const double reaction_s = profile_->reaction.value;
  for (int i = 1; i <= kReactionSteps; ++i) go(tick.q + (reaction_s * i / kReactionSteps) * tick.qd);
  out.reaction_m = distance_m - least_m;
  const JointVector q_reacted = q_last;
  for (int i = 1; i <= kStopSteps; ++i) go(plan.At(q_reacted, plan.time_s() * i / kStopSteps));
  out.stopping_m = distance_m - least_m - out.reaction_m;
  out.intrusion_m = profile_->intrusion.value;
  out.person_error_m = profile_->person_error.value;
  out.robot_error_m = profile_->robot_error.value;
  return out;
}

PairMoment PairExaminer::Examine(const TakeInstant& now, int part, int capsule) const {
  const Nearest near = DistanceOf(now.parts[static_cast<size_t>(part)], now.limbs[static_cast<size_t>(capsule)]);
  const Approach approach = ApproachOf(now, part, capsule, near);
  PairMoment out;
  out.t_s = static_cast<double>(now.tick) / motion_->take().id.physics_hz;
  out.arm_body = motion_->first_part() + part;
  out.capsule = capsule;
  out.region = std::string(RegionOf(capsule).name);
  out.distance_m = near.distance_m;
  out.p_WArm = near.p_WA, out.p_WPerson = near.p_WB;
  out.robot_mps = approach.robot_mps, out.person_mps = approach.person_mps;
  const StopPlan plan = PlanAt(now);
  out.stopping_s = plan.time_s();
  out.torque_share = plan.torque_share;
  out.constant = out.measured = Advance(now, part, capsule, near.distance_m, plan);
  const double until_still_s = profile_->reaction.value + out.stopping_s;
  out.constant.human_m = profile_->human_speed.value * until_still_s;
  out.measured.human_m = std::max(0.0, approach.person_mps) * until_still_s;
  out.no_contact = RegionOf(capsule).transient_factor == 1;
  out.permissible_mps = Permissible_mps(now, part, capsule, near, approach.n_W, &out.reflected_kg, &out.reduced_kg);
  out.clamping = ClampingOf(now, part, capsule, near, approach);
  return out;
}

}  // namespace dryrig
