#pragma once

#include <cstddef>
#include <vector>

#include "scenes/arm.h"
#include "sim/performance.h"
#include "sim/take.h"

namespace dryrig {

/// What a joint controller is told of one instant: rad, rad/s, rad/s² (m for sliding joints).
struct JointPoint {
  JointVector q, qd, qdd;
};

/// How a controller goes from point a to point b, `dt_s` later: the polynomial of the fifth order that has both points' position,
/// velocity and acceleration. `share` of the way, [0, 1].
JointPoint Between(const JointPoint& a, const JointPoint& b, double dt_s, double share);

/// How a take's motion is to be handed to a controller.
struct JointPlanSpec {
  double rate_hz = 100;
  JointVector parking;              // posture before and after, at rest
  double most_approach_mps = 0.25;  // no point of the arm is faster on the way from parking and back (the usual reduced speed)
};

/// A take's commanded joint motion at a controller's rate, from rest at the parking posture to rest there. Point i is at i /
/// rate_hz.
struct JointPlan {
  double rate_hz = 0;
  double lead_s = 0;  // the take's time 0: the way from parking ends
  double film_s = 0;  // from there on the take's own motion lasts so long
  double stop_s = 0;  // then the arm comes to rest; after that it goes back
  std::vector<JointPoint> points;

  double TimeOf(size_t point) const { return static_cast<double>(point) / rate_hz; }
};

/// The way from parking is one minimum-jerk motion (Flash & Hogan, J. Neurosci. 5 (1985)) at no more than half of each joint's
/// limits and at most_approach_mps; the take's set points follow on a cubic spline, then each joint brakes as softly as a third
/// of a second or its limits ask for, and the way back is like the first. Numbers are rounded to 1e-9. Nothing is checked: see
/// metrics/plan_check.h. @pre the arm is the take's. @throws InputError for a parking posture outside the joint limits, RunError
/// for a take without half a second of motion.
JointPlan PlanJoints(const Take& take, const ArmModel& arm, const JointPlanSpec& spec);

/// The same motion as a take that is looked at, physics rate rate_hz, with the person and props of the take; for TakeMotion with
/// lead_s.
Take PlannedTake(const Take& take, const ArmModel& arm, const Performance& performance, const JointPlan& plan);

}  // namespace dryrig
