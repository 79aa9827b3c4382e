#pragma once

#include <string>

#include "metrics/metric.h"
#include "sim/take.h"

namespace dryrig {

/// One take as a picture (SVG) over one time line: what the intents asked and what the policy chose, mismatches hatched; framing
/// error, visible hands and the distance to the person, each with its worst moment marked. No meaning by colour alone.
std::string TimelineSvg(const Take& take, const Scorecard& scorecard);

}  // namespace dryrig
