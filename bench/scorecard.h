#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "metrics/metric.h"
#include "sim/store.h"
#include "sim/take.h"

namespace dryrig {

/// A scorecard's numbers as the store keeps them, in the metrics' order.
std::vector<StoredScore> ToStored(const Scorecard& card);
/// Empty if equal to the last bit, else one line a difference.
std::vector<std::string> Differences(const std::vector<StoredScore>& stored, const std::vector<StoredScore>& now);

nlohmann::ordered_json ToJson(const TakeIdentity& id);
/// A number, -0 as 0; none: null.
nlohmann::ordered_json OrNull(const std::optional<double>& value);
/// `higher`, `lower` or `-`: which way is better.
std::string DirectionWord(Direction direction);
/// Unit for a header; shares and pure numbers, which have none, become `share` and `1`.
std::string UnitForPeople(const Metric& metric);

/// One take's scorecard for machines: context, identity, hashes of inputs, scores, caution.
nlohmann::ordered_json ScorecardJson(const TakeIdentity& id, const std::vector<StoredInput>& inputs,
                                     const std::vector<StoredScore>& scores);
/// The same for people.
std::string ScorecardTable(const TakeIdentity& id, const std::vector<StoredScore>& scores);

}  // namespace dryrig
