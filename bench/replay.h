#pragma once

#include <nlohmann/json_fwd.hpp>

#include "metrics/metric.h"
#include "sim/take.h"

namespace dryrig {

/// A take in lines and points for a page that plays it: bench, person, arm, camera and props, five times a second, whole
/// millimetres in W. `frames` holds flat lists of x, y, z: the person's points that `bones` join by index, then one a link, then
/// the lens and four corners of what it sees, then one a prop.
nlohmann::ordered_json ReplayJson(const Take& take);

/// What went on over a take's time line: beats, intents, sentences, and three metrics' series, five times a second; a distance is
/// the least of its fifth of a second, the others a mean, null where there was nothing to measure.
nlohmann::ordered_json CourseJson(const Take& take, const Scorecard& card);

}  // namespace dryrig
