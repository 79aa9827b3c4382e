#pragma once

#include <vector>

#include "scenes/arm.h"
#include "sim/arm_dynamics.h"
#include "sim/clearance.h"
#include "sim/reflected_mass.h"

namespace dryrig {

/// How far a body's points can lie from each joint's axis, whatever the posture: metres, one a joint, 0 for joints beyond the
/// body's link. A sliding joint counts 1: it moves all points by its own travel.
JointVector SpanOf(const ArmModel& arm, const ArmBody& body);
/// No point of the body goes farther than this while joints go through `travel` (unsigned), each its own way.
inline double MostMoved_m(const JointVector& span, const JointVector& travel) {
  return span.dot(travel);
}

/// Jacobian, in W, of a point that link `link` carries. X_WL: one a link.
PointRows PointRowsAt(const ArmModel& arm, const std::vector<Eigen::Isometry3d>& X_WL, int link, const Eigen::Vector3d& p_W);
/// No point of a ball that the link carries is faster at joint rates qd: its middle, and its turning about that.
double MostSpeed_mps(const ArmModel& arm, const std::vector<Eigen::Isometry3d>& X_WL, int link, const Eigen::Vector3d& middle_W,
                     double radius_m, const JointVector& qd);

}  // namespace dryrig
