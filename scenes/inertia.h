#pragma once

#include <Eigen/Geometry>

#include "scenes/arm.h"
#include "scenes/shape.h"

namespace dryrig {

/// Mass, centre and rotational inertia about that centre, in the axes of some frame A.
struct MassProperties {
  double mass_kg = 0;
  Eigen::Vector3d p_ACom = Eigen::Vector3d::Zero();
  Eigen::Matrix3d I_ACom = Eigen::Matrix3d::Zero();
};

/// The same body seen from frame L.
MassProperties SeenFrom(const Eigen::Isometry3d& X_LA, const MassProperties& in_A);
/// Two bodies of one frame as one (parallel axis theorem). Massless ones add nothing.
MassProperties Sum(const MassProperties& a, const MassProperties& b);
/// A solid of even density. Hulls to about 1 %. @pre density_kg_m3 > 0.
MassProperties SolidOf(const Shape& shape, double density_kg_m3);

MassProperties MassOf(const Link& link);
void SetMass(Link* link, const MassProperties& mass);

}  // namespace dryrig
