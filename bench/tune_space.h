#pragma once

#include <string>
#include <vector>

#include "bench/tune_search.h"
#include "policies/table.h"

namespace dryrig {

/// What is searched over: each text is a parameter of the policy, `NAME` or `NAME=LOW..HIGH`; `all` alone is every one of them.
/// Without a range it is four times less to four times more than where the search starts, as far as the parameter goes, or its
/// whole range where that means nothing. `start` is where the search starts; what it does not name starts at its default.
/// @throws InputError for an unknown name (with the nearest), one named twice, a range outside the parameter's or without the
/// start, or no name at all.
SearchSpace ParseSpace(const std::vector<std::string>& texts, const PolicyEntry& policy, const ParamValues& start);

}  // namespace dryrig
