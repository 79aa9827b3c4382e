#pragma once

#include <Eigen/Core>
#include <string>

#include "sim/take.h"
#include "viewer/render/picture.h"

namespace dryrig {

/// A part of the arm and a part of the person at a moment, with the points of both that a picture is to show.
struct DrawnPair {
  double t_s = 0;
  int arm_body = 0, capsule = 0;  // in Take::arm_bodies, PersonBody::capsules
  Eigen::Vector3d p_WArm = Eigen::Vector3d::Zero(), p_WPerson = Eigen::Vector3d::Zero();
};

/// The room at the frame of a moment, from a side that shows its pair: of several places round it the one from which both bodies
/// are seen and the line between their points is seen most from aside. The line is drawn in; `caption` stands below.
/// @throws RunError where nothing can be drawn.
Picture DrawPair(const Take& take, const DrawnPair& pair, const std::string& caption);

}  // namespace dryrig
