#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "scenes/arm.h"

namespace dryrig {

/// Joint i's own motion: X_JL at position q.
Eigen::Isometry3d JointMotion(const Joint& joint, double q);

/// Poses of all links seen from the base, X_BL[i]. `out` is resized once and then reused. @pre q.size() == dof.
void LinkPoses(const ArmModel& arm, const Eigen::VectorXd& q, std::vector<Eigen::Isometry3d>* out);
/// The camera seen from the base.
Eigen::Isometry3d CameraPose(const ArmModel& arm, const Eigen::VectorXd& q);

/// Geometric Jacobian of the camera's optical centre, in B's axes: rows 0–2 linear (m/s), 3–5 angular (rad/s).
using Jacobian = Eigen::Matrix<double, 6, Eigen::Dynamic, 0, 6, 8>;
Jacobian CameraJacobian(const ArmModel& arm, const Eigen::VectorXd& q);
/// The same for a point fixed to link `link`, p_BX seen from B, with the link poses at q.
Jacobian PointJacobian(const ArmModel& arm, const std::vector<Eigen::Isometry3d>& X_BL, int link, const Eigen::Vector3d& p_BX);

/// Yoshikawa's manipulability √det(J·Jᵀ); with fewer than 6 joints √det(Jᵀ·J).
double Manipulability(const Jacobian& J);

}  // namespace dryrig
