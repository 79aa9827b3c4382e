#pragma once

#include <Eigen/Geometry>

#include "sim/arm_dynamics.h"

namespace dryrig {

/// Rows 0–2 of a point's Jacobian, one column a joint.
using PointRows = Eigen::Matrix<double, 3, Eigen::Dynamic, 0, 3, kMaxJoints>;

/// Mass that a blow along the unit direction n meets at a point of the arm with joints free to give way: (nᵀ J M⁻¹ Jᵀ n)⁻¹
/// (Khatib 1995). J in the axes of n, M the mass matrix at that posture. Where the arm cannot move along n the number is capped
/// at 1e6 kg. Servos and gears add to it: a stiff drive is felt as more.
double ReflectedMass_kg(const PointRows& J, const JointMatrix& M, const Eigen::Vector3d& n);

/// Greatest force along n that the joints' efforts can press with at that point while they hold `bias` (gravity): the first joint
/// to run out of effort ends it. At most 1e6 N.
double PressForce_N(const PointRows& J, const JointVector& effort, const JointVector& bias, const Eigen::Vector3d& n);

}  // namespace dryrig
