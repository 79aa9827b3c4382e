#pragma once

#include "sim/policy.h"

namespace dryrig {

/// What is asked of arm and lens can be done: sound (RequireSound), inside joint and focal limits, of a prop that is there.
/// Shipped policies are led back to the limits instead. @throws RunError naming the value and the limit.
void RequireWithinLimits(const Move& move, const Observation& seen);

}  // namespace dryrig
