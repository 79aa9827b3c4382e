#include "metrics/plan_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "metrics/solid_gaps.h"
#include "scenes/error.h"
#include "sim/arm_dynamics.h"
#include "sim/near_pairs.h"

namespace dryrig {

namespace {

constexpr int kSteps = 8;  // between two points

/// The worst moment of each limit that is broken, in the order in which they are found first.
class Breaches {
 public:
  /// Broken by `over`, of whatever measure that is the same for this limit.
  void Note(const PlanBreach& breach, double over) {
    const auto [it, first] = at_.try_emplace(breach.what, breaches_.size());
    if (first) {
      breaches_.push_back(breach);
      over_.push_back(over);
    } else if (over > over_[it->second]) {
      breaches_[it->second] = breach;
      over_[it->second] = over;
    }
  }
  std::vector<PlanBreach> Done() { return std::move(breaches_); }

 private:
  std::map<std::string, size_t> at_;
  std::vector<PlanBreach> breaches_;
  std::vector<double> over_;
};

/// Joints by their limits; `share`: the greatest so far, of limits that go both ways.
class JointLimits {
 public:
  JointLimits(const ArmModel& arm, Breaches* breaches, PlanCheck* check) : arm_(arm), breaches_(breaches), check_(check) {}

  void At(double t_s, const JointPoint& point) {
    for (int j = 0; j < arm_.dof(); ++j) {
      const Joint& joint = arm_.joints[static_cast<size_t>(j)];
      const std::string unit = joint.kind == JointKind::kRevolute ? "rad" : "m";
      if (!joint.continuous) {
        const double q = point.q[j];
        if (q > joint.upper) Note(joint, "position", t_s, q, joint.upper, unit, q - joint.upper);
        if (q < joint.lower) Note(joint, "position", t_s, q, joint.lower, unit, joint.lower - q);
      }
      BothWays(joint, "velocity", t_s, point.qd[j], joint.velocity, unit + "/s", &check_->velocity_share);
      BothWays(joint, "acceleration", t_s, point.qdd[j], joint.acceleration, unit + "/s2", &check_->acceleration_share);
    }
  }
  void Torques(double t_s, const JointPoint& point, const JointVector& torque) {
    for (int j = 0; j < arm_.dof(); ++j) {
      const Joint& joint = arm_.joints[static_cast<size_t>(j)];
      const double drag = joint.damping * point.qd[j] + (point.qd[j] == 0 ? 0 : std::copysign(joint.friction, point.qd[j]));
      BothWays(joint, "torque", t_s, torque[j] + drag, joint.effort, joint.kind == JointKind::kRevolute ? "Nm" : "N",
               &check_->torque_share);
    }
  }

 private:
  void Note(const Joint& joint, const char* quantity, double t_s, double value, double limit, const std::string& unit,
            double over) {
    breaches_->Note({fmt::format("joint {}: {}", joint.name, quantity), t_s, value, limit, unit}, over);
  }
  void BothWays(const Joint& joint, const char* quantity, double t_s, double value, double limit, const std::string& unit,
                double* share) {
    if (!(limit > 0)) return;
    *share = std::max(*share, std::abs(value) / limit);
    if (!(std::abs(value) <= limit))
      Note(joint, quantity, t_s, value, std::copysign(limit, value), unit, std::abs(value) - limit);
  }

  const ArmModel& arm_;
  Breaches* breaches_;
  PlanCheck* check_;
};

void CheckJoints(const Take& take, const ArmModel& arm, const JointPlan& plan, Breaches* breaches, PlanCheck* check) {
  JointLimits limits(arm, breaches, check);
  const ArmDynamics dynamics(arm, take.X_WB);
  JointVector torque;
  for (size_t i = 0; i < plan.points.size(); ++i) {
    const JointPoint& point = plan.points[i];
    limits.At(plan.TimeOf(i), point);
    dynamics.Torques(point.q, point.qd, point.qdd, &torque);
    limits.Torques(plan.TimeOf(i), point, torque);
    for (int k = 1; k < kSteps && i + 1 < plan.points.size(); ++k) {
      const double share = static_cast<double>(k) / kSteps;
      limits.At(plan.TimeOf(i) + share / plan.rate_hz, Between(point, plan.points[i + 1], 1 / plan.rate_hz, share));
    }
  }
}

void RequireBodies(const Take& take, const BuiltTogether& together) {
  std::vector<std::string> names;
  for (const ArmBody& body : take.arm_bodies) names.push_back(body.body.name);
  for (const auto& [a, b] : together) {
    for (const std::string& name : {a, b}) {
      if (std::find(names.begin(), names.end(), name) == names.end())
        throw InputError(fmt::format("the arm has no body \"{}\"{}", name, Suggest(name, names)));
    }
  }
}

void CheckBodies(const TakeMotion& motion, double least_m, const BuiltTogether& together, Breaches* breaches, PlanCheck* check) {
  const Take& take = motion.take();
  for (const SolidGap& gap : SolidGaps(motion)) {
    const bool built = gap.kind == GapKind::kSelf && std::any_of(together.begin(), together.end(), [&gap](const auto& pair) {
                         return pair == std::pair(gap.a, gap.b) || pair == std::pair(gap.b, gap.a);
                       });
    if (built || gap.bound_m > 0) continue;
    breaches->Note({fmt::format("{} – {}: distance", gap.a, gap.b), gap.t_s, std::min(gap.bound_m, gap.least_m), 0, "m"},
                   -gap.bound_m);
  }
  check->nearest_m = kPlanWatch_m;
  VisitNearPairs(motion, std::max(kPlanWatch_m, least_m), [&](const TakeInstant& now, std::span<const NearPair> pairs) {
    for (const NearPair& pair : pairs) {
      const double bound_m = std::min(pair.bound_m, pair.near.distance_m);
      const auto part = static_cast<size_t>(motion.first_part() + pair.part);
      if (bound_m >= check->nearest_m && bound_m >= least_m) continue;
      const std::string name =
          fmt::format("{} – {}", take.arm_bodies[part].body.name, take.person.capsules[static_cast<size_t>(pair.capsule)].name);
      if (bound_m < check->nearest_m) check->nearest_m = bound_m, check->nearest = name;
      if (bound_m < least_m)
        breaches->Note({name + ": distance", static_cast<double>(now.tick) * motion.dt_s(), bound_m, least_m, "m"},
                       least_m - bound_m);
    }
  });
}

}  // namespace

PlanCheck CheckPlan(const Take& take, const ArmModel& arm, const Performance& performance, const JointPlan& plan, double least_m,
                    const BuiltTogether& together) {
  RequireBodies(take, together);
  const TakeMotion as_filmed(take, arm, performance);  // refuses another person or arm
  PlanCheck check;
  Breaches breaches;
  CheckJoints(take, arm, plan, &breaches, &check);
  const Take planned = PlannedTake(take, arm, performance, plan);
  CheckBodies(TakeMotion(planned, arm, performance, plan.lead_s), least_m, together, &breaches, &check);
  check.breaches = breaches.Done();
  return check;
}

}  // namespace dryrig
