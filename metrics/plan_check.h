#pragma once

#include <string>
#include <utility>
#include <vector>

#include "sim/joint_plan.h"

namespace dryrig {

/// A limit that a joint plan breaks, at the worst of the moments where it does.
struct PlanBreach {
  std::string what;  // "joint shoulder: velocity", "camera – left hand: distance"
  double t_s = 0;    // in the plan
  double value = 0, limit = 0;
  std::string unit;  // of both
};

/// Two of the arm's own bodies that may overlap, by name: where a model's shapes are coarser than the arm.
using BuiltTogether = std::vector<std::pair<std::string, std::string>>;

/// What was found of a plan. Shares are of the limit, at their greatest.
struct PlanCheck {
  std::vector<PlanBreach> breaches;  // one a limit, joints first
  double velocity_share = 0, acceleration_share = 0, torque_share = 0;
  double nearest_m = 0;  // to the person, never less; kPlanWatch_m where nothing came nearer than that
  std::string nearest;   // the pair; empty: none within kPlanWatch_m
};
inline constexpr double kPlanWatch_m = 0.4;

/// Holds a plan, as a controller goes from point to point (Between), against each joint's position, velocity and acceleration
/// limits; at its points against the efforts, with damping and friction, where the arm has them; and the arm's bodies against
/// bench, keep-out bodies, zones, props and itself (nothing may be touched) and against the person's bodies as recorded, who
/// must stay `least_m` away; bounded between points. Before and after the lesson the person holds its first and last pose. Pairs
/// named in `together` are not held against each other. @throws InputError for a name in it that is no body of the arm, RunError
/// where the performance or the arm is not the take's.
PlanCheck CheckPlan(const Take& take, const ArmModel& arm, const Performance& performance, const JointPlan& plan, double least_m,
                    const BuiltTogether& together = {});

}  // namespace dryrig
