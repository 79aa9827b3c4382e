#include "bench/report_takes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "bench/code_id.h"
#include "bench/paired.h"
#include "bench/pictures.h"
#include "bench/replay.h"
#include "policies/stored_take.h"
#include "scenes/error.h"
#include "sim/logged_take.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr size_t kWorstShown = 2;

std::string Base64(const std::string& bytes) {
  constexpr std::string_view kLetters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (size_t i = 0; i < bytes.size(); i += 3) {
    const auto at = [&](size_t k) { return i + k < bytes.size() ? static_cast<unsigned char>(bytes[i + k]) : 0u; };
    const unsigned word = at(0) << 16 | at(1) << 8 | at(2);
    for (int k = 0; k < 4; ++k) out += kLetters[word >> (18 - 6 * k) & 63];
  }
  for (size_t k = 0; k < (3 - bytes.size() % 3) % 3; ++k) out[out.size() - 1 - k] = '=';
  return out;
}

/// The contact sheet as an image that stands in the page.
std::string SheetOf(const Take& take) {
  std::string name = (fs::temp_directory_path() / "dryrig-sheet-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw RunError("no temporary folder for a contact sheet");
  struct Gone {
    fs::path folder;
    ~Gone() {
      std::error_code ignored;
      fs::remove_all(folder, ignored);
    }
  } const gone{name};
  const fs::path png = gone.folder / "sheet.png";
  WriteContactSheet(take, png);
  std::ifstream in(png, std::ios::binary);
  std::ostringstream bytes;
  bytes << in.rdbuf();
  return "data:image/png;base64," + Base64(bytes.str());
}

/// The take whole: from the store, or filmed again. @throws InputError, RunError where that is not the same take.
Take WholeTake(const Store& store, int64_t id, const TakeIdentity& identity) {
  if (store.HasSeries(id)) return store.ReadTake(id);
  if (store.ReadCode(id) != CodeOf(identity.policy))
    throw RunError("other code than this program's filmed it; run the comparison again with this program");
  const PreparedTake prepared = PrepareStored(store, id);
  const std::unique_ptr<Policy> policy = prepared.MakePolicy();
  return RunTake(prepared.setup, *policy);
}

}  // namespace

TakeChoice ChoiceOf(const TakeIdentity& id) {
  TakeChoice choice;
  choice.lesson = id.lesson, choice.arm = id.arm, choice.bench = id.bench, choice.person = id.person;
  choice.camera = id.camera, choice.sensing = id.sensing, choice.seed = id.seed, choice.physics_hz = id.physics_hz;
  choice.policy.name = id.policy;
  if (id.policy == kLoggedPolicy) return choice;  // no policy's parameters
  ParamValues defaults;
  if (const PolicyEntry* policy = FindPolicyIfKnown(id.policy)) {
    for (const ParamInfo& info : policy->params()) defaults[info.name] = info.value;
  }
  std::istringstream words(id.params);
  for (std::string word; words >> word;) {
    ParamValues one;
    ParseParam(word, &one);
    const auto& [key, value] = *one.begin();
    if (!defaults.contains(key) || defaults[key] != value) choice.policy.values[key] = value;
  }
  return choice;
}

std::vector<ShownTake> ChooseShown(const std::vector<TakeScores>& takes, const std::vector<size_t>& also) {
  const auto m = static_cast<size_t>(&FindMetric("framing_error") - Metrics().data());
  std::vector<std::pair<double, size_t>> order;  // worst first
  for (size_t i = 0; i < takes.size(); ++i) {
    const auto& value = takes[i].scores.at(m).value;
    if (value && IsDeployable(takes[i].id.policy)) order.emplace_back(-*value, i);
  }
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<ShownTake> out;
  const auto add = [&out](size_t place, const std::string& why) {
    if (std::none_of(out.begin(), out.end(), [&](const ShownTake& shown) { return shown.place == place; }))
      out.push_back({place, why});
  };
  for (size_t k = 0; k < std::min(kWorstShown, order.size()); ++k)
    add(order[k].second, k == 0 ? "worst framed" : "second worst framed");
  if (!order.empty()) add(order[order.size() / 2].second, "median by framing");
  for (const size_t place : also) add(place, "asked for");
  return out;
}

Json ShownTakesJson(const Store& store, const std::vector<int64_t>& ids, const std::vector<TakeScores>& takes,
                    const std::vector<ShownTake>& shown, std::set<std::string>* notes) {
  const std::vector<std::string> labels = PolicyLabels(takes);
  Json out = Json::array();
  for (const ShownTake& one : shown) {
    const TakeIdentity& id = takes[one.place].id;
    Json json{{"title", fmt::format("{}: {} by {} with {}, sensing {}, seed {}", one.why, id.lesson, labels[one.place], id.person,
                                    id.sensing, id.seed)},
              {"command", CommandFor(ChoiceOf(id), "out/again")}};
    try {
      const Take take = WholeTake(store, ids[one.place], id);
      json["course"] = CourseJson(take, ScoreTake(take));
      json["replay"] = ReplayJson(take);
      try {
        json["sheet"] = SheetOf(take);
      } catch (const RunError& error) {
        notes->insert(fmt::format("no contact sheets: {}", error.what()));
      }
    } catch (const std::runtime_error& error) {
      json["missing"] = error.what();
      notes->insert(fmt::format("take {} is not shown: {}", ids[one.place], error.what()));
    }
    out.push_back(std::move(json));
  }
  return out;
}

}  // namespace dryrig
