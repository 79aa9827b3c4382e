#pragma once

#include <string>
#include <vector>

#include "bench/out_folder.h"
#include "metrics/metric.h"
#include "sim/store.h"

namespace dryrig {

/// One scored take, series and all, as `results.db`, `scorecard.json` and `timeline.svg`; results of ours that were there are
/// replaced. Opens the folder. `code`: what filmed it (bench/code_id.h), empty where no policy did.
void WriteOneTake(OutFolder* out, const Take& take, const Scorecard& card, const std::vector<StoredInput>& inputs,
                  const std::string& scorecard_json, const std::string& code);

}  // namespace dryrig
