#include "bench/scorecard.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "bench/context.h"
#include "bench/text_table.h"
#include "policies/table.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;

std::string Moment(const StoredScore& score) {
  std::string out = score.worst_t_s ? fmt::format("{:.2f} s", *score.worst_t_s) : "";
  if (!score.worst_what.empty()) out += (out.empty() ? "" : ", ") + score.worst_what;
  return out;
}

std::string Shown(const std::optional<double>& value) {
  return value ? ForMachines(*value) : "nothing to measure";
}

}  // namespace

Json OrNull(const std::optional<double>& value) {
  return value ? Json(*value + 0.0) : Json(nullptr);
}

std::vector<StoredScore> ToStored(const Scorecard& card) {
  std::vector<StoredScore> out;
  const auto metrics = Metrics();
  for (size_t i = 0; i < card.scores.size(); ++i) {
    const Score& score = card.scores[i];
    out.push_back({std::string(metrics[i].name), std::string(metrics[i].unit), score.value, score.worst_t_s, score.worst_what});
  }
  return out;
}

std::vector<std::string> Differences(const std::vector<StoredScore>& stored, const std::vector<StoredScore>& now) {
  std::vector<std::string> out;
  if (stored.size() != now.size()) out.push_back(fmt::format("{} metrics stored, {} now", stored.size(), now.size()));
  for (size_t i = 0; i < std::min(stored.size(), now.size()); ++i) {
    const StoredScore &a = stored[i], &b = now[i];
    if (a.metric != b.metric) {
      out.push_back(fmt::format("metric {} stored where {} is now", a.metric, b.metric));
    } else if (a.value != b.value) {
      out.push_back(fmt::format("{}: stored {}, now {} {}", a.metric, Shown(a.value), Shown(b.value), b.unit));
    } else if (a.worst_t_s != b.worst_t_s || a.worst_what != b.worst_what || a.unit != b.unit) {
      out.push_back(fmt::format("{}: worst moment stored as {}, now {}", a.metric, Moment(a), Moment(b)));
    }
  }
  return out;
}

Json ToJson(const TakeIdentity& id) {
  return {{"lesson", id.lesson},
          {"policy", id.policy},
          {"params", id.params},
          {"arm", id.arm},
          {"bench", id.bench},
          {"person", id.person},
          {"camera", id.camera},
          {"sensing", id.sensing},
          {"seed", id.seed},
          {"physics_hz", id.physics_hz},
          {"control_hz", id.control_hz},
          {"frame_hz", id.frame_hz},
          {"inputs_hash", id.inputs_hash}};
}

std::string DirectionWord(Direction direction) {
  return direction == Direction::kUp ? "higher" : direction == Direction::kDown ? "lower" : "-";
}

std::string UnitForPeople(const Metric& metric) {
  if (!metric.unit.empty()) return std::string(metric.unit);
  return metric.meaning.starts_with("share") ? "share" : "1";
}

Json ScorecardJson(const TakeIdentity& id, const std::vector<StoredInput>& inputs, const std::vector<StoredScore>& scores) {
  Json out{{"dryrig", "scorecard/1"}, {"context", ToJson(ThisBuild())}, {"take", ToJson(id)}};
  out["take"]["deployable"] = IsDeployable(id.policy);
  for (const StoredInput& input : inputs)
    out["inputs"].push_back({{"kind", input.kind}, {"name", input.name}, {"hash", input.hash}});
  for (const StoredScore& score : scores) {
    const Metric& metric = FindMetric(score.metric);
    out["scores"].push_back({{"metric", score.metric},
                             {"value", OrNull(score.value)},
                             {"unit", score.unit},
                             {"better", DirectionWord(metric.direction)},
                             {"meaning", metric.meaning},
                             {"worst_t_s", OrNull(score.worst_t_s)},
                             {"worst_what", score.worst_what}});
  }
  out["caution"] = kCaution;
  return out;
}

std::string ScorecardTable(const TakeIdentity& id, const std::vector<StoredScore>& scores) {
  std::string out =
      fmt::format("{} filmed by {}{}, seed {}\n", id.lesson, id.policy, id.params.empty() ? "" : " (" + id.params + ")", id.seed);
  out = Wrap(out, 118, 2) + "\n";
  out += fmt::format("arm {}, bench {}, person {}, camera {}, sensing {}, physics {} Hz\n\n", id.arm, id.bench, id.person,
                     id.camera, id.sensing, id.physics_hz);
  using Align = TextTable::Align;
  TextTable table({Align::kLeft, Align::kRight, Align::kLeft, Align::kLeft, Align::kLeft});
  table.Row({"metric", "value", "unit", "better", "worst moment"});
  table.Rule();
  for (const StoredScore& score : scores) {
    const Metric& metric = FindMetric(score.metric);
    table.Row({score.metric, ForPeople(score.value), UnitForPeople(metric), DirectionWord(metric.direction), Moment(score)});
  }
  out += table.ToString();
  out += "\nA dash: there was nothing to measure. `dryrig list metrics` tells what each number means.\n";
  if (!IsDeployable(id.policy))
    out += fmt::format("{} knows the scoring key: it shows what could be reached and cannot be deployed.\n", id.policy);
  return out;
}

}  // namespace dryrig
