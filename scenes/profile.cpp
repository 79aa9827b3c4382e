#include "scenes/profile.h"

#include <fmt/format.h>

#include <algorithm>

#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

// As metrics/contact_limits has them, which this room may not read.
const std::vector<std::string> kRegionNames{"skull",  "face",      "neck",      "back", "chest", "abdomen",
                                            "pelvis", "upper arm", "lower arm", "hand", "thigh", "lower leg"};

/// `KEY: {VALUE_KEY: number, source: text}`.
ProfileTerm ReadTerm(const YamlMap& map, const std::string& key, const std::string& value_key, Limits limits) {
  const YamlMap term = map.At(key).In(key).Map({value_key, "source"});
  return {term.Number(value_key, limits), term.Text("source")};
}

std::vector<ClearanceRule> ReadRules(const YamlMap& map) {
  std::vector<ClearanceRule> out;
  for (const YamlNode& node : map.At("enforce").List(1, kClearanceRules.size())) {
    const auto rule = node.Choice<ClearanceRule>({{"speed", ClearanceRule::kSpeed},
                                                  {"separation", ClearanceRule::kSeparation},
                                                  {"contact", ClearanceRule::kContact},
                                                  {"head", ClearanceRule::kHead},
                                                  {"clamping", ClearanceRule::kClamping}});
    if (std::find(out.begin(), out.end(), rule) != out.end())
      node.Fail(fmt::format("\"{}\" is named twice; keep one", ToString(rule)));
    out.push_back(rule);
  }
  return out;
}

std::map<std::string, RegionChange> ReadRegions(const YamlMap& map) {
  std::map<std::string, RegionChange> out;
  const auto node = map.Find("regions");
  if (!node) return out;
  for (const YamlNode& one : node->List(1, kRegionNames.size())) {
    const YamlMap region = one.Map({"region", "force_N", "transient_factor", "source"});
    const std::string name = region.Text("region");
    if (std::find(kRegionNames.begin(), kRegionNames.end(), name) == kRegionNames.end())
      region.At("region").Fail(fmt::format("no contact region \"{}\"{}", name, Suggest(name, kRegionNames)));
    if (out.contains(name)) region.At("region").Fail(fmt::format("\"{}\" is given twice; keep one", name));
    region.Text("source");
    RegionChange change;
    if (region.Has("force_N")) change.force_N = region.Number("force_N", {1, 1000});
    if (region.Has("transient_factor")) change.transient_factor = region.Number("transient_factor", {1, 2});
    if (change.force_N == 0 && change.transient_factor == 0) one.FailPlain("changes nothing; give force_N or transient_factor");
    out[name] = change;
  }
  return out;
}

}  // namespace

std::string_view ToString(ClearanceRule rule) {
  constexpr std::array<std::string_view, kClearanceRules.size()> kWords{"speed", "separation", "contact", "head", "clamping"};
  return kWords[static_cast<size_t>(rule)];
}

bool Profile::Enforces(ClearanceRule rule) const {
  return std::find(enforced.begin(), enforced.end(), rule) != enforced.end();
}

Profile ParseProfile(const std::string& text, const std::string& file_name) {
  const YamlMap map = YamlNode::Parse(text, file_name)
                          .Document("profile", {"title", "enforce", "tool_speed", "human_speed", "measured", "reaction",
                                                "intrusion", "person_error", "robot_error", "watch", "press_limit", "regions"});
  Profile profile;
  profile.name = std::filesystem::path(file_name).stem().string();
  profile.title = map.Text("title");
  profile.enforced = ReadRules(map);
  profile.tool_speed = ReadTerm(map, "tool_speed", "speed_m_per_s", {0.01, 5});
  profile.human_speed = ReadTerm(map, "human_speed", "speed_m_per_s", {0.1, 5});
  profile.measured = map.Bool("measured", false);
  profile.reaction = ReadTerm(map, "reaction", "time_ms", {1, 5000});
  profile.intrusion = ReadTerm(map, "intrusion", "distance_mm", {0, 2000});
  profile.person_error = ReadTerm(map, "person_error", "distance_mm", {0, 1000});
  profile.robot_error = ReadTerm(map, "robot_error", "distance_mm", {0, 1000});
  profile.watch = ReadTerm(map, "watch", "distance_mm", {10, 2000});
  profile.press_limit = ReadTerm(map, "press_limit", "force_N", {0, 2000});
  profile.regions = ReadRegions(map);
  profile.text = text;
  return profile;
}

Profile ReadProfile(const std::filesystem::path& file) {
  return ParseProfile(ReadTextFile(file), file.string());
}

}  // namespace dryrig
