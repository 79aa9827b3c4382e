#pragma once

#include <vector>

#include "scenes/arm.h"

namespace dryrig {

/// Values of all joints, one vector a sample.
using JointSamples = std::vector<Eigen::VectorXd>;

/// Do the joint's values fit its range, give or take 1 deg or 2 mm of calibration, when each is `factor` times as much?
bool FitsRange(const Joint& joint, const JointSamples& q, int j, double factor);
/// The value farthest from zero.
double ExtremeOf(const JointSamples& q, int j);
/// Greatest less least.
double TravelOf(const JointSamples& q, int j);
/// Takes out jumps by whole turns, as of an encoder that starts over; answers how many there were.
int UnwrapTurns(JointSamples* q, int j);

}  // namespace dryrig
