#pragma once

#include <Eigen/Geometry>
#include <vector>

#include "sim/body_pose.h"

namespace dryrig {

/// A fault to be planted: the whole body goes off through the air, up to `speed_mps` within 40 ms, and ends `travel_m` on. No way
/// that people move; the worst that a safety layer may be asked to bear.
struct Lunge {
  double start_s = 0;
  Eigen::Vector3d way_W = Eigen::Vector3d::UnitY();  // unit
  double speed_mps = 1.6, travel_m = 0.5;
};

/// How far it has gone `since_s` after its start; its speed is continuous and never above the lunge's. @pre speed and travel > 0.
double LungeTravel_m(const Lunge& lunge, double since_s);
/// The pose moved by all of them; the same bits where there are none.
BodyPose WithLunges(BodyPose pose, const std::vector<Lunge>& lunges, double t_s);

}  // namespace dryrig
