#include "scenes/sensing.h"

#include <fmt/format.h>

#include <algorithm>

#include "scenes/catalogue.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

void RequireBoth(const YamlMap& map, const std::string& what, double per_s, double for_s) {
  if ((per_s > 0) == (for_s > 0)) return;
  map.At(what + (per_s > 0 ? "_per_s" : "_for_s"))
      .FailPlain(fmt::format("{0}_per_s of {1} with {0}_for_s of {2}: give both above 0, or neither", what, per_s, for_s));
}

const std::vector<std::string>& Keys() {
  static const std::vector<std::string> kKeys{"title",
                                              "rate_hz",
                                              "latency_ms",
                                              "noise_mm",
                                              "noise_distance_mm",
                                              "partly_hidden_noise",
                                              "bias_mm",
                                              "orientation_noise_deg",
                                              "dropout_per_s",
                                              "dropout_for_s",
                                              "swap_per_s",
                                              "swap_for_s",
                                              "hidden_is_lost",
                                              "heard_delay_s",
                                              "word_error_rate",
                                              "missed_sentence_rate",
                                              "split_sentence_rate"};
  return kKeys;
}

/// `text` of a sensing file with `key: value` in place of what it says of that key, written out plainly.
std::string WithValues(const std::string& text, const std::string& file_name,
                       const std::vector<std::pair<std::string, std::string>>& values) {
  const YamlMap map = YamlNode::Parse(text, file_name).Document("sensing", Keys());
  std::string out = "dryrig: sensing/1\n";
  for (const std::string& key : Keys()) {
    const auto set = std::find_if(values.begin(), values.end(), [&](const auto& one) { return one.first == key; });
    if (key == "title")
      out += fmt::format("title: {}\n", map.At(key).Scalar("text"));
    else if (set != values.end())
      out += fmt::format("{}: {}\n", key, set->second);
    else if (const auto node = map.Find(key))
      out += fmt::format("{}: {}\n", key, node->Scalar("a value"));
  }
  return out;
}

}  // namespace

Sensing ParseSensing(const std::string& text, const std::string& file_name) {
  const YamlMap map = YamlNode::Parse(text, file_name).Document("sensing", Keys());
  Sensing sensing;
  sensing.name = std::filesystem::path(file_name).stem().string();
  sensing.title = map.Text("title");
  sensing.rate_hz = map.Number("rate_hz", {1, 240});
  sensing.latency_s = map.Number("latency_ms", {0, 5000}, 0);
  sensing.noise_m = map.Number("noise_mm", {0, 200}, 0);
  sensing.noise_distance_m = map.Number("noise_distance_mm", {200, 10000}, 0);
  sensing.partly_hidden_noise = map.Number("partly_hidden_noise", {1, 20}, 1);
  sensing.bias_m = map.Number("bias_mm", {0, 200}, 0);
  sensing.orientation_noise_rad = map.Number("orientation_noise_deg", {0, 90}, 0);
  sensing.dropout_per_s = map.Number("dropout_per_s", {0, 10}, 0);
  sensing.dropout_for_s = map.Number("dropout_for_s", {0, 30}, 0);
  sensing.swap_per_s = map.Number("swap_per_s", {0, 10}, 0);
  sensing.swap_for_s = map.Number("swap_for_s", {0, 30}, 0);
  RequireBoth(map, "dropout", sensing.dropout_per_s, sensing.dropout_for_s);
  RequireBoth(map, "swap", sensing.swap_per_s, sensing.swap_for_s);
  sensing.hidden_is_lost = map.Bool("hidden_is_lost", false);
  sensing.heard_delay_s = map.Number("heard_delay_s", {0, 10}, 0);
  sensing.word_error_rate = map.Number("word_error_rate", {0, 1}, 0);
  sensing.missed_sentence_rate = map.Number("missed_sentence_rate", {0, 1}, 0);
  sensing.split_sentence_rate = map.Number("split_sentence_rate", {0, 1}, 0);
  sensing.text = text;
  return sensing;
}

Sensing ReadSensing(const std::filesystem::path& file) {
  return ParseSensing(ReadTextFile(file), file.string());
}

Sensing FindSensing(const std::string& spelled) {
  const size_t colon = spelled.find(':');
  if (colon == std::string::npos || std::filesystem::is_regular_file(spelled)) {
    return ReadSensing(FindScene(SceneKind::kSensing, spelled));
  }
  const std::filesystem::path file = FindScene(SceneKind::kSensing, spelled.substr(0, colon));
  std::vector<std::pair<std::string, std::string>> values;
  const std::vector<std::string> settable(Keys().begin() + 1, Keys().end());  // all but the title
  for (size_t at = colon; at != std::string::npos;) {
    const size_t next = spelled.find(',', at + 1);
    const std::string one = spelled.substr(at + 1, next == std::string::npos ? next : next - at - 1);
    const size_t equals = one.find('=');
    const std::string key = one.substr(0, equals), value = equals == std::string::npos ? "" : one.substr(equals + 1);
    const bool plain = !value.empty() && std::all_of(value.begin(), value.end(), [](unsigned char c) {
      return std::isalnum(c) || c == '.' || c == '-' || c == '+';
    });
    if (!plain) {
      throw InputError(fmt::format("sensing \"{}\": \"{}\" is not key=value, such as noise_mm=20 or hidden_is_lost=false",
                                   spelled.substr(0, 200), one.substr(0, 64)));
    }
    if (std::find(settable.begin(), settable.end(), key) == settable.end())
      throw InputError(fmt::format("sensing \"{}\": no key \"{}\"{}", spelled.substr(0, 200), key, Suggest(key, settable)));
    if (std::any_of(values.begin(), values.end(), [&](const auto& other) { return other.first == key; }))
      throw InputError(fmt::format("sensing \"{}\": {} is set twice; keep one", spelled.substr(0, 200), key));
    values.emplace_back(key, value);
    at = next;
  }
  Sensing out = ParseSensing(WithValues(ReadTextFile(file), file.string(), values), fmt::format("sensing \"{}\"", spelled));
  out.name = spelled;
  return out;
}

}  // namespace dryrig
