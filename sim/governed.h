#pragma once

#include <string_view>

namespace dryrig {

/// What a safety layer does with the path that a policy wishes: lets it be, slows it, stands, goes back along it.
enum class GovernorState { kWatch, kSlow, kStop, kRetreat };
std::string_view ToString(GovernorState state);

struct GovernedSpell {
  GovernorState state = GovernorState::kWatch;
  double start_s = 0, end_s = 0;
};

}  // namespace dryrig
