#pragma once

#include <array>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "bench/comparison.h"
#include "scenes/suite.h"

namespace dryrig {

/// The axes of the card that depend on the scoring key.
inline constexpr std::array kKeyedAxes{"hand_visibility", "hand_detail", "framing_error", "occlusion"};

/// A take's kKeyedAxes by each variant of its key. Intents that a shift moves beyond the take's ends are cut there, sizes stop at
/// the widest and the closest. The take is as it was afterwards. @pre its policy does not know the key
std::vector<VariantScore> ScoreVariants(Take* take, const std::vector<SuiteVariant>& variants);

/// Two policies that change places when the key does.
struct Swap {
  std::string above, below;  // by the key as it is: `above` is the better one
  bool decided = false;      // better beyond the 95 % interval of the paired difference
};
/// Policies by one metric, best first, means over lessons as in a comparison.
struct Ranking {
  struct Under {
    std::string variant;
    std::vector<std::string> order;
    std::vector<Swap> swaps;
  };
  std::string metric;
  std::vector<std::string> order;  // by the key as it is
  std::vector<Under> under;        // by each variant
  /// No pair that was decided changes places under any variant.
  bool holds() const;
};

/// Rankings of all policies that do not know the key. `variants`: one list a take, as stored; takes without are passed over.
/// A metric that no take has a value of, and a single policy, make no ranking.
std::vector<Ranking> CompareRankings(const std::vector<TakeScores>& takes,
                                     const std::vector<std::vector<VariantScore>>& variants);

/// For people: does each ranking hold, what changes places under which variant. Empty for no rankings.
std::string ToText(const std::vector<Ranking>& rankings);
nlohmann::ordered_json ToJson(const Ranking& ranking);

}  // namespace dryrig
