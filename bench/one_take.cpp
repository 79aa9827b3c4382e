#include "bench/one_take.h"

#include <nlohmann/json.hpp>

#include "bench/context.h"
#include "bench/scorecard.h"
#include "bench/timeline.h"

namespace dryrig {

void WriteOneTake(OutFolder* out, const Take& take, const Scorecard& card, const std::vector<StoredInput>& inputs,
                  const std::string& scorecard_json, const std::string& code) {
  out->Open();
  out->RemoveResults();
  Store store(out->Database(), Store::Mode::kCreate);
  store.Together([&] {
    store.WriteContext(ToJson(ThisBuild()).dump());
    const int64_t id = store.WriteTake(take, true);
    store.WriteInputs(id, inputs);
    store.WriteScores(id, ToStored(card));
    store.WriteCode(id, code);
  });
  out->Write("scorecard.json", scorecard_json);
  out->Write("timeline.svg", TimelineSvg(take, card));
}

}  // namespace dryrig
