#pragma once

#include "sim/clearance.h"
#include "sim/run.h"

namespace dryrig {

/// A take's still part: identity, time line, bodies and limits; no frames and
/// no ticks.
Take PrepareTake(const TakeSetup& setup, const Performance& performance);

/// Speed at which two material points, one on an arm body and one on a capsule,
/// close on each other; from this tick and the last.
double ApproachSpeed(const Clearance& near, const ArmBody& arm_body, const PersonCapsule& capsule,
                     const std::vector<Eigen::Isometry3d>& X_WL, const std::vector<Eigen::Isometry3d>& X_WL_before,
                     const BodyPose& pose, const BodyPose& before, double dt_s);

}  // namespace dryrig
