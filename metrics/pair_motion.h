#pragma once

#include <string>

#include "sim/take.h"

namespace dryrig {

/// The tick names an arm body and a capsule: there was an arm and a person.
bool HasPair(const TakeTick& tick);
/// "right index tip – camera".
std::string PairName(const Take& take, const TakeTick& tick);

/// Speed of the nearest arm point against the nearest body point at a tick, whichever way it points: from the link's and the
/// person's motion between the frames around it. 0 in a take of one frame. @pre HasPair
double RelativeSpeed_mps(const Take& take, size_t tick);
/// Greatest speed of any arm body's middle between the frames around a time.
double FastestBody_mps(const Take& take, double t_s);

}  // namespace dryrig
