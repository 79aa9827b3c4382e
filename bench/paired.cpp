#include "bench/paired.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <tuple>

#include "bench/scorecard.h"
#include "bench/text_table.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr int kDraws = 4000;
constexpr uint64_t kSeed = 1;  // of the intervals, so that a table repeats to the last digit

using PairKey = std::tuple<std::string, std::string, std::string, std::string, std::string, std::string, uint64_t>;

PairKey KeyOf(const TakeIdentity& id) {
  return {id.lesson, id.arm, id.bench, id.camera, id.person, id.sensing, id.seed};
}

std::optional<double> ValueOf(const TakeScores& take, const std::string& metric) {
  for (const StoredScore& score : take.scores) {
    if (score.metric == metric) return score.value;
  }
  return std::nullopt;
}

PairedComparison Compare(const std::vector<TakeScores>& takes, const std::vector<std::string>& labels,
                         const PrimaryComparison& what) {
  const Metric& metric = FindMetric(what.metric);
  std::map<PairKey, double> against;
  PairedComparison out;
  out.metric = what.metric, out.policy = what.policy, out.against = what.against;
  std::vector<double> a, b;
  std::vector<std::pair<const TakeIdentity*, double>> differences;
  for (size_t i = 0; i < takes.size(); ++i) {
    const auto value = labels[i] == what.against ? ValueOf(takes[i], what.metric) : std::nullopt;
    if (value) against[KeyOf(takes[i].id)] = *value;
  }
  for (size_t i = 0; i < takes.size(); ++i) {
    const auto value = labels[i] == what.policy ? ValueOf(takes[i], what.metric) : std::nullopt;
    const auto other = against.find(KeyOf(takes[i].id));
    if (!value || other == against.end()) continue;
    differences.emplace_back(&takes[i].id, *value - other->second);
    a.push_back(*value);
    b.push_back(other->second);
  }
  out.pairs = differences.size();
  if (differences.empty()) return out;
  const NestedValues nested = Nest(differences);
  out.difference = NestedMean(nested);
  out.interval = HierarchicalInterval(nested, kDraws, kSeed);
  out.iqm_policy = InterquartileMean(a);
  out.iqm_against = InterquartileMean(b);
  out.improvement = metric.direction == Direction::kUp ? ProbabilityGreater(a, b) : ProbabilityGreater(b, a);
  out.test = WilcoxonSignedRank(LessonMeans(nested));
  out.p_holm = out.test.p;
  if (!out.interval.Holds(0)) {
    const bool up = out.difference > 0;
    out.better = metric.direction == Direction::kNeither ? 0 : up == (metric.direction == Direction::kUp) ? 1 : -1;
  } else {
    out.more = WhatWouldSettle(nested);
  }
  return out;
}

std::string Settling(const MoreToSettle& more) {
  std::vector<std::string> ways;
  if (more.lessons) ways.push_back(fmt::format("{} lessons", *more.lessons));
  if (more.people) ways.push_back(fmt::format("{} people a lesson", *more.people));
  if (more.seeds) ways.push_back(fmt::format("{} seeds a person", *more.seeds));
  if (ways.empty()) return "more of the same takes would not settle it";
  return fmt::format("would be settled by {}{}", fmt::join(ways, ", or by "),
                     more.lessons && !more.seeds ? "; more seeds alone would not" : "");
}

}  // namespace

std::vector<std::string> PolicyLabels(const std::vector<TakeScores>& takes) {
  std::map<std::string, std::vector<std::string>> settings;  // by name, in order of appearance
  for (const TakeScores& take : takes) {
    auto& of_name = settings[take.id.policy];
    if (std::find(of_name.begin(), of_name.end(), take.id.params) == of_name.end()) of_name.push_back(take.id.params);
  }
  std::map<std::pair<std::string, std::string>, std::string> labels;
  for (const auto& [name, all] : settings) {
    for (const std::string& params : all) {
      std::string differing;
      std::istringstream words(params);
      for (std::string word; words >> word;) {
        const bool shared = std::all_of(all.begin(), all.end(), [&](const std::string& other) {
          return fmt::format(" {} ", other).find(fmt::format(" {} ", word)) != std::string::npos;
        });
        if (!shared) differing += fmt::format("{}{}", differing.empty() ? ":" : ",", word);
      }
      labels[{name, params}] = name + differing;
    }
  }
  std::vector<std::string> out;
  for (const TakeScores& take : takes) out.push_back(labels.at({take.id.policy, take.id.params}));
  return out;
}

NestedValues Nest(const std::vector<std::pair<const TakeIdentity*, double>>& differences) {
  std::map<std::string, std::map<std::string, std::vector<double>>> sorted;
  for (const auto& [id, value] : differences) sorted[id->lesson][id->person].push_back(value);
  NestedValues out;
  for (const auto& [lesson, people] : sorted) {
    out.lessons.emplace_back();
    for (const auto& [person, values] : people) out.lessons.back().push_back(values);
  }
  return out;
}

std::vector<PairedComparison> ComparePrimary(const std::vector<TakeScores>& takes, std::span<const PrimaryComparison> primary) {
  const std::vector<std::string> labels = PolicyLabels(takes);
  std::vector<PairedComparison> out;
  for (const PrimaryComparison& what : primary) {
    FindMetric(what.metric);
    for (const std::string& policy : {what.policy, what.against}) {
      if (std::find(labels.begin(), labels.end(), policy) == labels.end()) {
        throw InputError(
            fmt::format("comparison of {}: policy \"{}\" has no takes{}", what.metric, policy, Suggest(policy, labels)));
      }
    }
    PairedComparison one = Compare(takes, labels, what);
    if (one.pairs > 0) out.push_back(std::move(one));
  }
  std::vector<double> p;
  for (const PairedComparison& one : out) p.push_back(one.test.p);
  const std::vector<double> adjusted = HolmAdjusted(p);
  for (size_t i = 0; i < out.size(); ++i) out[i].p_holm = adjusted[i];
  return out;
}

bool FewLessons(const PairedComparison& c) {
  return c.test.n < 6;
}

std::string ToText(const std::vector<PairedComparison>& comparisons) {
  std::string out;
  for (const PairedComparison& c : comparisons) {
    const Metric& metric = FindMetric(c.metric);
    const std::string unit = metric.unit.empty() ? "" : fmt::format(" {}", metric.unit);
    out += fmt::format("{}: {} against {}: {}\n", c.metric, c.policy, c.against,
                       c.better > 0   ? "better"
                       : c.better < 0 ? "worse"
                                      : "undecided");
    out +=
        fmt::format("  difference {}{}, 95 % interval {} to {}, over {} pairs of takes of {} lesson{}\n", ForPeople(c.difference),
                    unit, ForPeople(c.interval.lo), ForPeople(c.interval.hi), c.pairs, c.test.n, c.test.n == 1 ? "" : "s");
    out += fmt::format(
        "  interquartile means {} and {}; better in {:.0f} % of pairs; signed ranks of lessons p = {:.3g}, with Holm {:.3g}\n",
        ForPeople(c.iqm_policy), ForPeople(c.iqm_against), 100 * c.improvement, c.test.p, c.p_holm);
    if (FewLessons(c)) out += fmt::format("  {}\n", kFewLessons);
    if (c.better == 0) out += fmt::format("  {}\n", Settling(c.more));
  }
  return out;
}

nlohmann::ordered_json ToJson(const PairedComparison& c) {
  const auto or_null = [](const std::optional<int>& value) {
    return value ? nlohmann::ordered_json(*value) : nlohmann::ordered_json(nullptr);
  };
  return {{"metric", c.metric},
          {"policy", c.policy},
          {"against", c.against},
          {"pairs", c.pairs},
          {"lessons", c.test.n},
          {"difference", c.difference},
          {"interval_95", {c.interval.lo, c.interval.hi}},
          {"interquartile_means", {c.iqm_policy, c.iqm_against}},
          {"probability_of_improvement", c.improvement},
          {"signed_rank_p", c.test.p},
          {"holm_p", c.p_holm},
          {"verdict", c.better > 0   ? "better"
                      : c.better < 0 ? "worse"
                                     : "undecided"},
          {"would_settle",
           {{"lessons", or_null(c.more.lessons)},
            {"people_a_lesson", or_null(c.more.people)},
            {"seeds_a_person", or_null(c.more.seeds)}}}};
}

}  // namespace dryrig
