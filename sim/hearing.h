#pragma once

#include <cstdint>
#include <vector>

#include "scenes/sensing.h"
#include "sim/performance.h"
#include "sim/policy.h"

namespace dryrig {

/// What a speech recogniser makes of what was said, in order of delivery: late, with words lost or taken for others of the same
/// lesson, now and then in two parts, now and then not at all. Depends on seed and sentence alone.
std::vector<HeardSentence> Hear(const Sensing& sensing, const std::vector<Sentence>& spoken, uint64_t seed);

}  // namespace dryrig
