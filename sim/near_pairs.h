#pragma once

#include <functional>
#include <span>

#include "sim/distance.h"
#include "sim/take_motion.h"

namespace dryrig {

/// A part of the arm and a capsule of the person near each other at a tick.
struct NearPair {
  int part = 0, capsule = 0;  // as TakeInstant counts them
  Nearest near;
  /// They were no nearer than this at any time since the tick before: half the sum of both distances less what both can have
  /// moved. The joints move evenly between ticks, as the simulator integrates them; the person's points accelerate by
  /// kMostPersonAcceleration_mps2 at most.
  double bound_m = 0;
};

/// Told every frame's time, ticks `from` to `to`, with what no pair's distance is below in it: by part, then capsule; from
/// bounding balls and the speeds of both. The last frame's time may be no time at all.
void VisitFrames(const TakeMotion& motion,
                 const std::function<void(size_t from, size_t to, std::span<const double> least_m)>& visit);

/// Told every tick at which some pair is nearer than `watch_m`, with all such pairs, by part, then capsule. What bounding balls
/// and the speeds of both rule out for a whole frame is passed over.
void VisitNearPairs(const TakeMotion& motion, double watch_m,
                    const std::function<void(const TakeInstant&, std::span<const NearPair>)>& visit);

/// How far each part can have moved from tick `from` to tick `to`, metres.
std::vector<double> PartsMoved_m(const TakeMotion& motion, size_t from, size_t to);

}  // namespace dryrig
