#pragma once

#include <nlohmann/json_fwd.hpp>
#include <set>
#include <string>
#include <vector>

#include "bench/comparison.h"
#include "policies/choice.h"

namespace dryrig {

/// The choice that films a stored take again. Scenes by the names that its identity holds.
TakeChoice ChoiceOf(const TakeIdentity& id);

/// Which takes of a comparison a report shows closely: of the deployable policies the two of the greatest framing error and the
/// median one, and `also`, by place; each with the reason in words. In that order, none twice.
struct ShownTake {
  size_t place;
  std::string why;
};
std::vector<ShownTake> ChooseShown(const std::vector<TakeScores>& takes, const std::vector<size_t>& also);

/// Such takes for the page: their course, a replay and a contact sheet. A take whose series the store has not is filmed again;
/// where that cannot give the same take, because its files or the program have changed, the page says so instead. Without a
/// graphics driver there is no sheet, and `notes` says why.
nlohmann::ordered_json ShownTakesJson(const Store& store, const std::vector<int64_t>& ids, const std::vector<TakeScores>& takes,
                                      const std::vector<ShownTake>& shown, std::set<std::string>* notes);

}  // namespace dryrig
