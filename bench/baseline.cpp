#include "bench/baseline.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "bench/paired.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;

std::string Quoted(const std::string& text) {
  return Json(text).dump();
}

std::string Line(const BaselineTake& take) {
  std::string values;
  for (const std::optional<double>& value : take.values) {
    values += values.empty() ? "" : ", ";
    values += value ? fmt::format("{:.9g}", *value + 0.0) : "null";
  }
  return fmt::format(
      R"({{"lesson": {}, "policy": {}, "person": {}, "sensing": {}, "seed": {}, "arm": {}, "bench": {}, "camera": {}, "physics_hz": {}, "inputs": {}, "values": [{}]}})",
      Quoted(take.lesson), Quoted(take.policy), Quoted(take.person), Quoted(take.sensing), take.seed, Quoted(take.arm),
      Quoted(take.bench), Quoted(take.camera), take.physics_hz, Quoted(take.inputs_hash), values);
}

BaselineTake ReadLine(const Json& one, size_t metrics) {
  BaselineTake take;
  take.lesson = one.at("lesson").get<std::string>();
  take.policy = one.at("policy").get<std::string>();
  take.person = one.at("person").get<std::string>();
  take.sensing = one.at("sensing").get<std::string>();
  take.seed = one.at("seed").get<uint64_t>();
  take.arm = one.at("arm").get<std::string>();
  take.bench = one.at("bench").get<std::string>();
  take.camera = one.at("camera").get<std::string>();
  take.physics_hz = one.at("physics_hz").get<double>();
  take.inputs_hash = one.at("inputs").get<std::string>();
  for (const Json& value : one.at("values")) {
    take.values.push_back(value.is_null() ? std::nullopt : std::optional(value.get<double>()));
    if (take.values.back() && !std::isfinite(*take.values.back())) throw InputError("a value is not finite");
  }
  if (take.values.size() != metrics) {
    throw InputError(fmt::format("{}: {} values for {} metrics", take.Key(), take.values.size(), metrics));
  }
  return take;
}

}  // namespace

std::string BaselineTake::Key() const {
  return fmt::format("{} by {} with {}, sensing {}, seed {}, arm {}, bench {}, camera {}, {} Hz", lesson, policy, person, sensing,
                     seed, arm, bench, camera, physics_hz);
}

Baseline MakeBaseline(const std::vector<TakeScores>& takes, const std::string& suite, const std::string& reason,
                      const std::string& context) {
  Baseline out{suite, reason, context, {}, {}};
  for (const Metric& metric : Metrics()) out.metrics.emplace_back(metric.name);
  const std::vector<std::string> labels = PolicyLabels(takes);
  for (size_t i = 0; i < takes.size(); ++i) {
    const TakeIdentity& id = takes[i].id;
    BaselineTake take{id.lesson,  labels[i], id.arm,        id.bench,       id.camera, id.person,
                      id.sensing, id.seed,   id.physics_hz, id.inputs_hash, {}};
    for (const StoredScore& score : takes[i].scores) take.values.push_back(score.value);
    if (take.values.size() != out.metrics.size()) {
      throw InputError(fmt::format("{} has {} scores, this program has {} metrics; score it again", take.Key(),
                                   take.values.size(), out.metrics.size()));
    }
    out.takes.push_back(std::move(take));
  }
  std::sort(out.takes.begin(), out.takes.end(), [](const BaselineTake& a, const BaselineTake& b) { return a.Key() < b.Key(); });
  return out;
}

std::string ToText(const Baseline& baseline) {
  std::string out = fmt::format(
      "{{\"dryrig\": \"baseline/1\",\n\"suite\": {},\n\"reason\": {},\n\"context\": {},\n\"metrics\": {},\n\"takes\": [\n",
      Quoted(baseline.suite), Quoted(baseline.reason), baseline.context.empty() ? "{}" : Json::parse(baseline.context).dump(),
      Json(baseline.metrics).dump());
  for (size_t i = 0; i < baseline.takes.size(); ++i) {
    out += Line(baseline.takes[i]) + (i + 1 < baseline.takes.size() ? ",\n" : "\n");
  }
  return out + "]}\n";
}

Baseline ParseBaseline(const std::string& text, const std::string& file_name) {
  try {
    const Json json = Json::parse(text);
    if (!json.is_object() || json.value("dryrig", "") != "baseline/1") {
      throw InputError("no baseline of this program: \"dryrig\": \"baseline/1\" is missing");
    }
    Baseline out{json.at("suite").get<std::string>(),
                 json.at("reason").get<std::string>(),
                 json.at("context").dump(),
                 json.at("metrics").get<std::vector<std::string>>(),
                 {}};
    for (const Json& one : json.at("takes")) out.takes.push_back(ReadLine(one, out.metrics.size()));
    if (out.takes.empty()) throw InputError("holds no take");
    for (size_t i = 1; i < out.takes.size(); ++i) {
      if (out.takes[i - 1].Key() >= out.takes[i].Key()) throw InputError(out.takes[i].Key() + " stands twice or out of order");
    }
    return out;
  } catch (const std::exception& error) {  // Json's own, and ours
    throw InputError(fmt::format("{}: {}; make it anew with `dryrig gate --accept`", file_name, error.what()));
  }
}

}  // namespace dryrig
