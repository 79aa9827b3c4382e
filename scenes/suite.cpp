#include "scenes/suite.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

constexpr size_t kMostNames = 200, kMostRules = 500, kMostVariants = 24;
constexpr int kMostSeeds = 100'000, kMostSeed = 1'000'000'000;

std::vector<std::string> ReadNames(const YamlMap& map, const std::string& key, size_t least) {
  if (least == 0 && !map.Has(key)) return {};
  std::vector<std::string> out;
  for (const YamlNode& node : map.At(key).List(1, kMostNames)) {
    out.push_back(node.Text());
    if (std::count(out.begin(), out.end(), out.back()) > 1) node.Fail(fmt::format("\"{}\" is named twice; keep one", out.back()));
  }
  return out;
}

/// A whole number N for 1 to N, or a list.
std::vector<uint64_t> ReadSeeds(const YamlMap& map) {
  const auto node = map.Find("seeds");
  if (!node) return {1};
  std::vector<uint64_t> out;
  if (node->kind() == YamlNode::Kind::kList) {
    for (const YamlNode& one : node->List(1, kMostSeeds)) {
      out.push_back(static_cast<uint64_t>(one.Integer(0, kMostSeed)));
      if (std::count(out.begin(), out.end(), out.back()) > 1)
        one.Fail(fmt::format("seed {} is named twice; keep one", out.back()));
    }
    return out;
  }
  const int count = node->Integer(1, kMostSeeds);
  for (int seed = 1; seed <= count; ++seed) out.push_back(static_cast<uint64_t>(seed));
  return out;
}

SuiteRule ReadRule(const YamlNode& node) {
  const YamlMap map = node.Map({"lesson", "policy", "arm", "bench", "camera", "person", "sensing", "seed"});
  SuiteRule rule;
  const auto read = [&](const char* key, std::optional<std::string>* into) {
    if (const auto value = map.Find(key)) *into = value->Text();
    return into->has_value();
  };
  bool any = read("lesson", &rule.lesson);
  any |= read("policy", &rule.policy);
  any |= read("arm", &rule.arm);
  any |= read("bench", &rule.bench);
  any |= read("camera", &rule.camera);
  any |= read("person", &rule.person);
  any |= read("sensing", &rule.sensing);
  if (const auto seed = map.Find("seed")) rule.seed = static_cast<uint64_t>(seed->Integer(0, kMostSeed));
  if (!any && !rule.seed) node.FailPlain("names nothing; give at least one of lesson, policy, person, sensing, seed, ...");
  return rule;
}

std::vector<SuiteRule> ReadRules(const YamlMap& map, const std::string& key) {
  std::vector<SuiteRule> out;
  if (const auto node = map.Find(key)) {
    for (const YamlNode& one : node->List(1, kMostRules)) out.push_back(ReadRule(one));
  }
  return out;
}

void RequireNamed(const YamlNode& node, const std::vector<std::string>& policies) {
  const std::string name = node.Text();
  if (std::find(policies.begin(), policies.end(), name) == policies.end()) {
    node.Fail(fmt::format("\"{}\" is no policy of this suite{}", name, Suggest(name, policies)));
  }
}

PrimaryComparison ReadPrimary(const YamlNode& node, const std::vector<std::string>& policies) {
  const YamlMap map = node.Map({"metric", "policy", "against"});
  RequireNamed(map.At("policy"), policies);
  RequireNamed(map.At("against"), policies);
  PrimaryComparison out{map.Text("metric"), map.Text("policy"), map.Text("against")};
  if (out.policy == out.against) map.At("against").Fail("is the policy itself; name another");
  return out;
}

HardLimit ReadLimit(const YamlNode& node, const std::vector<std::string>& policies) {
  constexpr Limits kAny{-1e6, 1e6};
  const YamlMap map = node.Map({"metric", "at_least", "at_most", "policies"});
  HardLimit out;
  out.metric = map.Text("metric");
  map.OneOf({"at_least", "at_most"}, "bound");
  if (map.Has("at_least")) out.at_least = map.Number("at_least", kAny);
  if (map.Has("at_most")) out.at_most = map.Number("at_most", kAny);
  out.policies = ReadNames(map, "policies", 0);
  if (map.Has("policies")) {
    for (const YamlNode& one : map.At("policies").List(1, kMostNames)) RequireNamed(one, policies);
  }
  return out;
}

SuiteVariant ReadVariant(const YamlNode& node, const std::vector<SuiteVariant>& before) {
  const YamlMap map = node.Map({"shift_s", "size_steps", "tolerances"});
  SuiteVariant out;
  out.shift_s = map.Number("shift_s", {-10, 10}, 0);
  if (const auto steps = map.Find("size_steps")) out.size_steps = steps->Integer(-3, 3);
  out.tolerances = map.Number("tolerances", {0.1, 10}, 1);
  if (out == SuiteVariant{}) node.FailPlain("changes nothing; give shift_s, size_steps or tolerances");
  if (std::find(before.begin(), before.end(), out) != before.end()) node.FailPlain("changes the same twice; keep one");
  return out;
}

}  // namespace

std::string ToString(const SuiteVariant& variant) {
  std::vector<std::string> parts;
  if (variant.shift_s != 0)
    parts.push_back(fmt::format("intents {} s {}", std::abs(variant.shift_s), variant.shift_s > 0 ? "later" : "earlier"));
  if (variant.size_steps != 0) {
    const int steps = std::abs(variant.size_steps);
    parts.push_back(fmt::format("{} size{} {}", steps, steps == 1 ? "" : "s", variant.size_steps > 0 ? "closer" : "wider"));
  }
  if (variant.tolerances != 1) parts.push_back(fmt::format("tolerances x {}", variant.tolerances));
  return fmt::format("{}", fmt::join(parts, ", "));
}

Suite ParseSuite(const std::string& text, const std::string& file_name) {
  const YamlMap map =
      YamlNode::Parse(text, file_name)
          .Document("suite", {"title", "lessons", "policies", "arms", "benches", "cameras", "people", "sensing", "seeds",
                              "physics_hz", "exclude", "include", "primary", "limits", "keep_series", "variants"});
  Suite suite;
  suite.name = std::filesystem::path(file_name).stem().string();
  suite.title = map.Text("title");
  suite.lessons = ReadNames(map, "lessons", 1);
  suite.policies = ReadNames(map, "policies", 1);
  suite.arms = ReadNames(map, "arms", 0);
  suite.benches = ReadNames(map, "benches", 0);
  suite.cameras = ReadNames(map, "cameras", 0);
  suite.people = ReadNames(map, "people", 0);
  suite.sensings = ReadNames(map, "sensing", 0);
  suite.seeds = ReadSeeds(map);
  suite.physics_hz = map.Number("physics_hz", {120, 1000}, 240);
  suite.exclude = ReadRules(map, "exclude");
  suite.include = ReadRules(map, "include");
  if (const auto primary = map.Find("primary")) {
    for (const YamlNode& node : primary->List(1, kMostRules)) suite.primary.push_back(ReadPrimary(node, suite.policies));
  }
  if (const auto limits = map.Find("limits")) {
    for (const YamlNode& node : limits->List(1, kMostRules)) suite.limits.push_back(ReadLimit(node, suite.policies));
  }
  suite.keep_series = ReadRules(map, "keep_series");
  if (const auto variants = map.Find("variants")) {
    for (const YamlNode& node : variants->List(1, kMostVariants)) suite.variants.push_back(ReadVariant(node, suite.variants));
  }
  suite.text = text;
  return suite;
}

Suite ReadSuite(const std::filesystem::path& file) {
  return ParseSuite(ReadTextFile(file), file.string());
}

}  // namespace dryrig
