#pragma once

#include <string>
#include <utility>
#include <vector>

#include "sim/take.h"

namespace dryrig {

/// What is worth knowing of one body at a moment: lines of name and value with unit.
struct BodyFacts {
  std::string name;
  std::vector<std::pair<std::string, std::string>> lines;
};
/// `body` as DrawnScene numbers them, `name` its name there; at frame `frame`.
BodyFacts FactsOf(const Take& take, size_t frame, int body, const std::string& name);

}  // namespace dryrig
