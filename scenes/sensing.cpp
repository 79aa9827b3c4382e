#include "scenes/sensing.h"

#include <fmt/format.h>

#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

void RequireBoth(const YamlMap& map, const std::string& what, double per_s, double for_s) {
  if ((per_s > 0) == (for_s > 0)) return;
  map.At(what + (per_s > 0 ? "_per_s" : "_for_s"))
      .FailPlain(fmt::format("{0}_per_s of {1} with {0}_for_s of {2}: give both above 0, or neither", what, per_s, for_s));
}

}  // namespace

Sensing ParseSensing(const std::string& text, const std::string& file_name) {
  const YamlMap map = YamlNode::Parse(text, file_name)
                          .Document("sensing", {"title", "rate_hz", "latency_ms", "noise_mm", "noise_distance_mm",
                                                "partly_hidden_noise", "bias_mm", "orientation_noise_deg", "dropout_per_s",
                                                "dropout_for_s", "swap_per_s", "swap_for_s", "hidden_is_lost", "heard_delay_s",
                                                "word_error_rate", "missed_sentence_rate", "split_sentence_rate"});
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

}  // namespace dryrig
