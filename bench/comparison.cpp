#include "bench/comparison.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <sstream>

#include "bench/csv.h"
#include "bench/scorecard.h"
#include "bench/text_table.h"
#include "policies/table.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr std::array kWorstOf{
    "longest_blind_s",      "closest_approach", "closest_approach_p5", "approach_speed",     "separation_margin",
    "contact_speed_margin", "contacts",         "contact_force",       "joint_limit_margin", "joint_speed_margin"};
constexpr std::array kColumns{"hand_visibility", "hand_detail",      "longest_blind_s", "framing_error", "jerk",
                              "occlusion",       "closest_approach", "contacts"};

size_t IndexOf(std::string_view metric) {
  return static_cast<size_t>(&FindMetric(metric) - Metrics().data());
}

bool Better(double a, double b, Direction direction) {
  return direction == Direction::kUp ? a > b : a < b;
}

std::optional<double> GatherValues(const Metric& metric, const std::vector<double>& values) {
  if (values.empty()) return std::nullopt;
  if (GatherOf(metric) == Gather::kMean) {
    double sum = 0;
    for (const double value : values) sum += value;
    return sum / static_cast<double>(values.size());
  }
  return metric.direction == Direction::kUp ? *std::min_element(values.begin(), values.end())
                                            : *std::max_element(values.begin(), values.end());
}

bool TakesPart(const PolicySummary& policy, double floor) {
  if (!policy.deployable) return false;
  if (std::any_of(kAxes.begin(), kAxes.end(), [&](const char* axis) { return !policy.values[IndexOf(axis)]; })) return false;
  return *policy.values[IndexOf("hand_visibility")] >= floor;
}

bool Beats(const PolicySummary& a, const PolicySummary& b) {
  bool better_somewhere = false;
  for (const char* axis : kAxes) {
    const size_t i = IndexOf(axis);
    const Direction direction = Metrics()[i].direction;
    if (Better(*b.values[i], *a.values[i], direction)) return false;
    better_somewhere |= Better(*a.values[i], *b.values[i], direction);
  }
  return better_somewhere;
}

/// Policies of one name with other parameters are told apart by what differs.
std::string Label(const PolicySummary& policy, const std::vector<PolicySummary>& all) {
  std::vector<std::string> others;
  for (const PolicySummary& other : all) {
    if (other.policy == policy.policy && other.params != policy.params) others.push_back(" " + other.params + " ");
  }
  std::string out = policy.policy;
  if (others.empty()) return out;
  std::istringstream params(policy.params);
  for (std::string param; params >> param;) {
    const auto has = [&param](const std::string& other) { return other.find(" " + param + " ") != std::string::npos; };
    if (!std::all_of(others.begin(), others.end(), has)) out += fmt::format("{}{}", out == policy.policy ? ":" : ",", param);
  }
  return out;
}

/// `closest_approach` over two lines of a header.
std::array<std::string, 2> TwoLines(std::string_view metric) {
  const size_t at = metric.find('_');
  if (at == std::string_view::npos) return {"", std::string(metric)};
  return {std::string(metric.substr(0, at)), std::string(metric.substr(at + 1))};
}

std::string Marks(const PolicySummary& policy) {
  const std::optional<double>& contacts = policy.values[IndexOf("contacts")];
  std::string out = policy.unbeaten ? "*" : policy.deployable ? "" : "k";
  if (contacts && *contacts > 0) out += "!";
  return out;
}

std::string GatherWord(const Metric& metric) {
  if (GatherOf(metric) == Gather::kMean) return "mean";
  return metric.direction == Direction::kUp ? "least" : "most";
}

}  // namespace

Gather GatherOf(const Metric& metric) {
  return std::find(kWorstOf.begin(), kWorstOf.end(), metric.name) != kWorstOf.end() ? Gather::kWorst : Gather::kMean;
}

std::vector<PolicySummary> Summarise(const std::vector<TakeScores>& takes) {
  std::vector<PolicySummary> out;
  std::vector<std::vector<std::vector<double>>> values;  // by policy, metric, take
  for (const TakeScores& take : takes) {
    auto it = std::find_if(out.begin(), out.end(),
                           [&](const PolicySummary& s) { return s.policy == take.id.policy && s.params == take.id.params; });
    if (it == out.end()) {
      out.push_back({take.id.policy, take.id.params, IsDeployable(take.id.policy), 0, {}, false});
      values.emplace_back(Metrics().size());
      it = out.end() - 1;
    }
    ++it->takes;
    auto& of_policy = values[static_cast<size_t>(it - out.begin())];
    for (size_t i = 0; i < take.scores.size(); ++i) {
      if (take.scores[i].value) of_policy.at(i).push_back(*take.scores[i].value);
    }
  }
  for (size_t p = 0; p < out.size(); ++p) {
    for (size_t i = 0; i < Metrics().size(); ++i) out[p].values.push_back(GatherValues(Metrics()[i], values[p][i]));
  }
  return out;
}

void MarkUnbeaten(std::vector<PolicySummary>* policies, double floor) {
  for (PolicySummary& policy : *policies) {
    policy.unbeaten = TakesPart(policy, floor) &&
                      std::none_of(policies->begin(), policies->end(),
                                   [&](const PolicySummary& rival) { return TakesPart(rival, floor) && Beats(rival, policy); });
  }
}

std::string SummaryTable(const std::vector<PolicySummary>& policies) {
  using Align = TextTable::Align;
  std::vector<Align> columns{Align::kLeft, Align::kLeft, Align::kRight};
  std::array<std::vector<std::string>, 5> header{
      {{"", "", ""}, {"", "policy", "takes"}, {"", "  unit", ""}, {"", "  better", ""}, {"", "  of takes", ""}}};
  for (const char* name : kColumns) {
    const Metric& metric = FindMetric(name);
    columns.push_back(Align::kRight);
    const auto lines = TwoLines(name);
    header[0].push_back(lines[0]);
    header[1].push_back(lines[1]);
    header[2].push_back(UnitForPeople(metric));
    header[3].push_back(DirectionWord(metric.direction));
    header[4].push_back(GatherWord(metric));
  }
  TextTable table(columns);
  for (const auto& line : header) table.Row(line);
  table.Rule();
  for (const PolicySummary& policy : policies) {
    std::vector<std::string> row{Marks(policy), Label(policy, policies), std::to_string(policy.takes)};
    for (const char* name : kColumns) row.push_back(ForPeople(policy.values[IndexOf(name)]));
    table.Row(row);
  }
  return table.ToString();
}

std::string FullTable(const std::vector<PolicySummary>& policies) {
  using Align = TextTable::Align;
  std::vector<Align> columns{Align::kLeft, Align::kLeft, Align::kLeft, Align::kLeft};
  std::vector<std::string> header{"metric", "unit", "better", "of takes"};
  for (const PolicySummary& policy : policies) {
    columns.push_back(Align::kRight);
    header.push_back(Label(policy, policies));
  }
  TextTable table(columns);
  table.Row(header);
  table.Rule();
  for (size_t i = 0; i < Metrics().size(); ++i) {
    const Metric& metric = Metrics()[i];
    std::vector<std::string> row{std::string(metric.name), UnitForPeople(metric), DirectionWord(metric.direction),
                                 GatherWord(metric)};
    for (const PolicySummary& policy : policies) row.push_back(ForPeople(policy.values[i]));
    table.Row(row);
  }
  return table.ToString();
}

std::string SummaryLegend(double floor) {
  std::string out = "How to read it\n";
  for (const char* name : kColumns) {
    const Metric& metric = FindMetric(name);
    out += fmt::format("  {:<17} {}\n", name, Wrap(std::string(metric.meaning), 98, 20));
  }
  const std::string mark = fmt::format(
      "no other policy is at least as good on all of {} and better on one. Only policies with a hand_visibility of {} or more, "
      "and "
      "none that knows the scoring key, take part: a camera parked before the wall is smooth and safe, and useless.",
      fmt::join(kAxes, ", "), floor);
  out += fmt::format("  {:<17} {}\n", "*", Wrap(mark, 98, 20));
  out += fmt::format("  {:<17} {}\n", "k", "knows the scoring key: shows what could be reached, cannot be deployed.");
  out += fmt::format("  {:<17} {}\n", "!", "arm or camera touched the person in at least one take, whatever else the marks say.");
  const std::string of_takes =
      "how the takes become one number: their mean, or their worst (least, most) where a mean would hide a near miss.";
  out += fmt::format("  {:<17} {}\n", "of takes", Wrap(of_takes, 98, 20));
  out += fmt::format("  {:<17} {}\n", "-", "there was nothing to measure.");
  return out;
}

nlohmann::ordered_json ToJson(const PolicySummary& policy) {
  nlohmann::ordered_json out{{"policy", policy.policy},
                             {"params", policy.params},
                             {"deployable", policy.deployable},
                             {"takes", policy.takes},
                             {"unbeaten", policy.unbeaten}};
  for (size_t i = 0; i < Metrics().size(); ++i) {
    const Metric& metric = Metrics()[i];
    nlohmann::ordered_json value = nullptr;
    if (policy.values[i]) value = *policy.values[i] + 0.0;
    out["scores"].push_back({{"metric", metric.name}, {"value", value}, {"unit", metric.unit}, {"of_takes", GatherWord(metric)}});
  }
  return out;
}

std::string ResultsCsv(const std::vector<TakeScores>& takes) {
  CsvLine header;
  for (const char* key : {"lesson", "policy", "params", "arm", "bench", "person", "camera", "sensing", "seed", "physics_hz",
                          "control_hz", "frame_hz", "inputs_hash"}) {
    header.Text(key);
  }
  for (const Metric& metric : Metrics()) header.Text(HeaderWithUnit(metric.name, metric.unit));
  std::string out = header.Done();
  for (const TakeScores& take : takes) {
    const TakeIdentity& id = take.id;
    CsvLine line;
    for (const std::string* text : {&id.lesson, &id.policy, &id.params, &id.arm, &id.bench, &id.person, &id.camera, &id.sensing})
      line.Text(*text);
    line.Text(std::to_string(id.seed));
    for (const double rate_hz : {id.physics_hz, id.control_hz, id.frame_hz}) line.Number(rate_hz);
    line.Text(id.inputs_hash);
    for (const StoredScore& score : take.scores) line.Number(score.value);
    out += line.Done();
  }
  return out;
}

}  // namespace dryrig
