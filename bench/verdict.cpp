#include "bench/verdict.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "bench/comparison.h"
#include "bench/scorecard.h"
#include "bench/text_table.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr int kDraws = 2000;
constexpr uint64_t kSeed = 1;
constexpr size_t kExplaining = 3;

/// The same take before and now.
struct Pair {
  const BaselineTake *before, *now;
};

/// How much worse `now` is than `before`, positive: worse. 0 for a metric of which neither way is better.
double Worsening(const Metric& metric, double before, double now) {
  if (metric.direction == Direction::kNeither) return 0;
  return metric.direction == Direction::kUp ? before - now : now - before;
}

std::string WithUnit(const Metric& metric, double value) {
  return metric.unit.empty() ? ForPeople(value) : fmt::format("{} {}", ForPeople(value), metric.unit);
}

/// Pairs in the baseline's order; what is missing now goes to `missing`. @throws RunError if they cannot be compared.
std::vector<Pair> PairUp(const Baseline& before, const Baseline& now, std::vector<const BaselineTake*>* missing) {
  if (before.suite != now.suite) {
    throw RunError(
        fmt::format("the baseline is of suite \"{}\", the results of \"{}\": not comparable", before.suite, now.suite));
  }
  if (before.metrics != now.metrics) {
    std::set<std::string> a(before.metrics.begin(), before.metrics.end()), b(now.metrics.begin(), now.metrics.end());
    std::vector<std::string> apart;
    std::set_symmetric_difference(a.begin(), a.end(), b.begin(), b.end(), std::back_inserter(apart));
    throw RunError(fmt::format("baseline and results have other metrics ({}): not comparable; accept a new baseline",
                               fmt::join(apart, ", ")));
  }
  std::map<std::string, const BaselineTake*> by_key;
  for (const BaselineTake& take : now.takes) by_key[take.Key()] = &take;
  std::vector<Pair> out;
  for (const BaselineTake& take : before.takes) {
    const auto it = by_key.find(take.Key());
    if (it == by_key.end()) {
      missing->push_back(&take);
      continue;
    }
    if (it->second->inputs_hash != take.inputs_hash) {
      throw RunError(
          fmt::format("{}: its lesson, arm, bench, camera, person or sensing file has changed since the baseline: not "
                      "comparable; accept a new baseline",
                      take.Key()));
    }
    out.push_back({&take, it->second});
  }
  if (out.empty()) throw RunError("baseline and results have no take in common: not comparable");
  return out;
}

/// Keys of the takes that worsened most.
std::vector<std::string> Explaining(const std::vector<Pair>& pairs, size_t m, const Metric& metric) {
  std::vector<std::pair<double, const BaselineTake*>> order;
  for (const Pair& pair : pairs) {
    if (pair.before->values[m] && pair.now->values[m]) {
      order.emplace_back(-Worsening(metric, *pair.before->values[m], *pair.now->values[m]), pair.now);
    }
  }
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<std::string> out;
  for (const auto& [worse, take] : order) {
    if (out.size() < kExplaining && worse < 0) out.push_back(take->Key());
  }
  return out;
}

Finding JudgeChange(const std::vector<Pair>& pairs, size_t m, const std::string& policy) {
  const Metric& metric = Metrics()[m];
  Finding out;
  out.policy = policy;
  out.metric = std::string(metric.name);
  std::map<std::string, std::map<std::string, std::vector<double>>> changes, befores;
  size_t lost = 0;
  for (const Pair& pair : pairs) {
    const auto &before = pair.before->values[m], &now = pair.now->values[m];
    if (before && !now) ++lost;
    if (!before || !now) continue;
    changes[pair.now->lesson][pair.now->person].push_back(*now - *before);
    befores[pair.now->lesson][pair.now->person].push_back(*before);
  }
  const auto nest = [](const auto& sorted) {
    NestedValues nested;
    for (const auto& [lesson, people] : sorted) {
      nested.lessons.emplace_back();
      for (const auto& [person, values] : people) nested.lessons.back().push_back(values);
    }
    return nested;
  };
  if (changes.empty()) {
    out.failed = lost > 0;
    out.text = lost > 0 ? fmt::format("had a value in {} takes, now there is nothing to measure", lost) : "nothing to measure";
    return out;
  }
  const NestedValues change = nest(changes);
  const double mean = NestedMean(change);
  out.before = NestedMean(nest(befores));
  out.now = out.before + mean;
  out.allowed = metric.step_tolerance.Allowed(out.before);
  bool any = false;
  for (const double value : LessonMeans(change)) any = any || value != 0;
  out.interval = any ? HierarchicalInterval(change, kDraws, kSeed) : Interval{0, 0};
  const double worse = Worsening(metric, out.before, out.now);
  out.failed = worse > out.allowed && !out.interval.Holds(0);
  out.text = fmt::format("{} → {}, mean change {} [{}, {}], allowed {}", ForPeople(out.before), WithUnit(metric, out.now),
                         ForPeople(mean), ForPeople(out.interval.lo), ForPeople(out.interval.hi), ForPeople(out.allowed));
  if (lost > 0) {
    out.failed = true;
    out.text += fmt::format("; in {} takes there is nothing to measure any more", lost);
  }
  if (out.failed) out.takes = Explaining(pairs, m, metric);
  return out;
}

/// Worst take of a metric of safety, which a mean would hide.
std::optional<Finding> JudgeWorst(const std::vector<Pair>& pairs, size_t m, const std::string& policy) {
  const Metric& metric = Metrics()[m];
  if (GatherOf(metric) != Gather::kWorst) return std::nullopt;
  std::optional<double> before, now;
  std::string where;
  for (const Pair& pair : pairs) {
    const auto &was = pair.before->values[m], &is = pair.now->values[m];
    if (was && (!before || Worsening(metric, *before, *was) > 0)) before = *was;
    if (is && (!now || Worsening(metric, *now, *is) > 0)) now = *is, where = pair.now->Key();
  }
  if (!before || !now) return std::nullopt;
  Finding out;
  out.kind = Finding::Kind::kWorst;
  out.policy = policy;
  out.metric = std::string(metric.name);
  out.before = *before, out.now = *now;
  out.allowed = metric.step_tolerance.Allowed(*before);
  out.failed = Worsening(metric, *before, *now) > out.allowed;
  out.text =
      fmt::format("worst take {} → {}, allowed {}", ForPeople(out.before), WithUnit(metric, out.now), ForPeople(out.allowed));
  if (out.failed) out.takes = {where};
  return out;
}

Finding JudgeLimit(const Baseline& now, const HardLimit& limit) {
  const Metric& metric = FindMetric(limit.metric);
  const auto m = static_cast<size_t>(&metric - Metrics().data());
  const double bound = limit.at_least ? *limit.at_least : *limit.at_most;
  Finding out;
  out.kind = Finding::Kind::kLimit;
  out.metric = limit.metric;
  out.policy = limit.policies.empty() ? "every policy" : fmt::format("{}", fmt::join(limit.policies, ", "));
  out.before = out.now = bound;
  std::vector<std::pair<double, std::string>> values;  // how far inside the bound
  for (const BaselineTake& take : now.takes) {
    const bool meant =
        limit.policies.empty() || std::find(limit.policies.begin(), limit.policies.end(), take.policy) != limit.policies.end();
    if (meant && take.values[m]) values.emplace_back((limit.at_least ? 1 : -1) * (*take.values[m] - bound), take.Key());
  }
  std::stable_sort(values.begin(), values.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  if (values.empty()) {
    out.failed = true;
    out.text = "no take has a value that the limit could be held against";
    return out;
  }
  out.now = bound + (limit.at_least ? 1 : -1) * values.front().first;
  out.failed = values.front().first < 0;
  out.text =
      fmt::format("worst take {}, {} {}", WithUnit(metric, out.now), limit.at_least ? "at least" : "at most", ForPeople(bound));
  for (const auto& [inside, key] : values) {
    if (inside < 0 && out.takes.size() < kExplaining) out.takes.push_back(key);
  }
  return out;
}

}  // namespace

bool Verdict::failed() const {
  return std::any_of(findings.begin(), findings.end(), [](const Finding& finding) { return finding.failed; });
}

Verdict Judge(const Baseline& before, const Baseline& now, const std::vector<HardLimit>& limits) {
  Verdict out;
  std::vector<const BaselineTake*> missing;
  const std::vector<Pair> pairs = PairUp(before, now, &missing);
  out.pairs = pairs.size();
  out.added = now.takes.size() - pairs.size();
  for (const HardLimit& limit : limits) out.findings.push_back(JudgeLimit(now, limit));
  for (const BaselineTake* take : missing) {
    Finding finding;
    finding.kind = Finding::Kind::kMissing;
    finding.failed = true;
    finding.policy = take->policy;
    finding.text = "missing: " + take->Key();
    out.findings.push_back(std::move(finding));
  }
  std::vector<std::string> policies;
  for (const Pair& pair : pairs) {
    if (std::find(policies.begin(), policies.end(), pair.now->policy) == policies.end()) policies.push_back(pair.now->policy);
  }
  for (const std::string& policy : policies) {
    std::vector<Pair> of_policy;
    std::copy_if(pairs.begin(), pairs.end(), std::back_inserter(of_policy),
                 [&](const Pair& pair) { return pair.now->policy == policy; });
    for (size_t m = 0; m < Metrics().size(); ++m) {
      if (Metrics()[m].direction == Direction::kNeither) continue;
      out.findings.push_back(JudgeChange(of_policy, m, policy));
      if (auto worst = JudgeWorst(of_policy, m, policy)) out.findings.push_back(std::move(*worst));
    }
  }
  return out;
}

}  // namespace dryrig
