#pragma once

#include <optional>

#include "metrics/pair_moment.h"

namespace dryrig {

/// The moment with the least distance beyond its protective separation over all ticks and pairs of moving arm bodies and the
/// person's capsules, or (`head`) those with which no contact is accepted. `measured`: with the person's own speed. Frames and
/// ticks are taken in order of a bound that the margin is never below, until that passes the best found. None: no such capsule.
std::optional<PairMoment> WorstSeparation(const TakeMotion& motion, const PairExaminer& examiner, bool head, bool measured);

}  // namespace dryrig
