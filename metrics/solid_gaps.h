#pragma once

#include <string>
#include <vector>

#include "sim/take_motion.h"

namespace dryrig {

/// What an arm's body came near.
enum class GapKind { kSelf, kStill, kZone, kProp };

/// How near a part of the arm came to another solid that is no person.
struct SolidGap {
  GapKind kind = GapKind::kStill;
  std::string a, b;  // the arm's body; a body of the arm, the bench, what stands on it, a keep-out zone, a prop
  double t_s = 0;
  double least_m = 0;  // at a tick, within 0.5 mm or a twentieth of the least of all ticks; negative: into each other
  double bound_m =
      0;  // never less, between ticks neither, and as near to least_m; for props between frames not bounded: equal to least_m
};

/// Nearest first: the arm's moving bodies against bench, keep-out bodies and zones at every tick; against each other, where their
/// links are neither the same nor neighbours and they do not touch in the take's first posture (built into each other); against
/// props, at every frame. Exact where it may matter: intervals that cannot hold the least are passed over.
std::vector<SolidGap> SolidGaps(const TakeMotion& motion);

}  // namespace dryrig
