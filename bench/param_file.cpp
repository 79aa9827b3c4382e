#include "bench/param_file.h"

#include <fmt/format.h>

#include <sstream>

#include "policies/setup_params.h"
#include "scenes/yaml_node.h"

namespace dryrig {

PolicyChoice ParseParamFile(const std::string& text, const std::string& file_name, const OutsideChoice& outside) {
  const YamlMap map = YamlNode::Parse(text, file_name).Document("params", {"policy", "params"});
  PolicyChoice out;
  out.name = map.Text("policy");
  outside.LoadPython({out.name});
  const PolicyEntry* policy = FindPolicyIfKnown(out.name);
  if (policy == nullptr) {
    std::vector<std::string> known;
    for (const PolicyEntry& entry : Policies()) known.push_back(entry.name);
    map.At("policy").FailPlain(fmt::format("no policy \"{}\"{}", out.name.substr(0, 64), Suggest(out.name, known)));
  }
  const std::vector<ParamInfo> params = policy->params();
  std::vector<std::string> keys;
  for (const ParamInfo& info : params) keys.push_back(info.name);
  for (const SetupParam& param : SetupParams()) keys.emplace_back(param.name);
  const YamlMap values = map.At("params").Map(keys);
  for (const std::string& key : keys) {
    const std::optional<YamlNode> node = values.Find(key);
    if (!node) continue;
    try {
      ParseParam(key + "=" + node->Scalar("a number"), &out.values);
    } catch (const InputError&) {
      node->Fail(fmt::format("expected a number, found \"{}\"", node->Scalar("a number").substr(0, 64)));
    }
    const double value = out.values.at(key);
    const auto require = [&](const auto& all) {
      for (const auto& one : all) {
        if (key == one.name && !(value >= one.lo && value <= one.hi))
          node->Fail(fmt::format("{} is outside [{}, {}] {}", value, one.lo, one.hi, one.unit));
      }
    };
    require(params);
    require(SetupParams());
  }
  return out;
}

PolicyChoice ReadParamFile(const std::filesystem::path& file, const OutsideChoice& outside) {
  return ParseParamFile(ReadTextFile(file), file.string(), outside);
}

std::string ParamFileText(const PolicyChoice& policy, const std::string& comment) {
  std::string out = "dryrig: params/1\n";
  std::istringstream lines(comment);
  for (std::string line; std::getline(lines, line);) out += fmt::format("# {}\n", line);
  out += fmt::format("policy: {}\nparams:{}\n", policy.name, policy.values.empty() ? " {}" : "");
  for (const auto& [key, value] : policy.values) out += fmt::format("  {}: {}\n", key, value);
  return out;
}

PolicyChoice StartFrom(const std::filesystem::path& file, const std::string& policy, const OutsideChoice& outside) {
  if (file.empty() && policy.empty())
    throw InputError("no policy: name one with --policy, or a file of parameters with --params");
  PolicyChoice out;
  if (!file.empty()) out = ReadParamFile(file, outside);
  if (policy.empty()) return out;
  const PolicyChoice named = ParsePolicyChoice(policy);
  if (!out.name.empty() && named.name != out.name)
    throw InputError(fmt::format("--params {} is for policy {}, not {}", file.string(), out.name, named.name));
  out.name = named.name;
  for (const auto& [key, value] : named.values) out.values[key] = value;
  return out;
}

std::string Spelled(const PolicyChoice& policy) {
  std::string out = policy.name;
  for (const auto& [key, value] : policy.values) out += fmt::format("{}{}={}", out == policy.name ? ":" : ",", key, value);
  return out;
}

}  // namespace dryrig
