#include "bench/tune_wish.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "bench/paired.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr const char* kNearness = "closest_approach";

struct NamedNumber {
  const Metric* metric;
  std::optional<double> number;
};
NamedNumber ParseNamed(const std::string& text, const char* what) {
  const size_t equals = text.find('=');
  NamedNumber out{&FindMetric(text.substr(0, equals)), std::nullopt};
  if (equals == std::string::npos) return out;
  double number = 0;
  const char* end = text.data() + text.size();
  const auto parsed = std::from_chars(text.data() + equals + 1, end, number);
  if (parsed.ec != std::errc() || parsed.ptr != end || !std::isfinite(number))
    throw InputError(fmt::format("{} \"{}\": expected METRIC=NUMBER, such as framing_error=1", what, text.substr(0, 200)));
  out.number = number;
  return out;
}

/// +1 where more is worse.
double WorseSign(const Metric& metric) {
  return metric.direction == Direction::kUp ? -1 : 1;
}

}  // namespace

MetricWish ParseWish(const std::string& text) {
  const NamedNumber named = ParseNamed(text, "wish");
  if (named.metric->direction == Direction::kNeither)
    throw InputError(fmt::format("wish {}: neither more nor less of it is better; wish for another metric", named.metric->name));
  const double weight = named.number.value_or(1);
  if (!(weight > 0 && weight <= 1e6))
    throw InputError(fmt::format("wish {}: weight {} is not above 0 and at most 1000000", named.metric->name, weight));
  return {named.metric, weight};
}

std::vector<MetricWish> ParseWishes(const std::vector<std::string>& texts) {
  std::vector<MetricWish> out;
  for (const std::string& text : texts) {
    const MetricWish wish = ParseWish(text);
    if (std::any_of(out.begin(), out.end(), [&](const MetricWish& other) { return other.metric == wish.metric; }))
      throw InputError(fmt::format("wish {} is given twice; keep one", wish.metric->name));
    out.push_back(wish);
  }
  if (out.empty())
    throw InputError("nothing is wished for; name metrics with --wish, such as --wish framing_error --wish jerk=0.2");
  return out;
}

HardLimit ParseLimit(const std::string& text, bool at_least) {
  const NamedNumber named = ParseNamed(text, "limit");
  if (!named.number) throw InputError(fmt::format("limit \"{}\": no value; write {}=VALUE", text, text));
  HardLimit out;
  out.metric = named.metric->name;
  (at_least ? out.at_least : out.at_most) = named.number;
  return out;
}

std::optional<double> ValueOf(const TakeScores& take, const Metric& metric) {
  for (const StoredScore& score : take.scores) {
    if (score.metric == metric.name) return score.value;
  }
  return std::nullopt;
}

std::optional<double> MeanOf(const std::vector<TakeScores>& takes, const Metric& metric) {
  std::vector<std::pair<const TakeIdentity*, double>> values;
  for (const TakeScores& take : takes) {
    if (const auto value = ValueOf(take, metric)) values.emplace_back(&take.id, *value);
  }
  if (values.empty()) return std::nullopt;
  return NestedMean(Nest(values));
}

std::optional<double> WorstOf(const std::vector<TakeScores>& takes, const Metric& metric) {
  std::optional<double> out;
  for (const TakeScores& take : takes) {
    const auto value = ValueOf(take, metric);
    if (value && (!out || WorseSign(metric) * (*value - *out) > 0)) out = value;
  }
  return out;
}

NestedValues Changes(const std::vector<TakeScores>& from, const std::vector<TakeScores>& to, const Metric& metric) {
  std::vector<std::pair<const TakeIdentity*, double>> out;
  for (size_t i = 0; i < std::min(from.size(), to.size()); ++i) {
    const auto before = ValueOf(from[i], metric), after = ValueOf(to[i], metric);
    if (before && after) out.emplace_back(&to[i].id, *after - *before);
  }
  return Nest(out);
}

WishJudge::WishJudge(std::vector<MetricWish> wishes, std::vector<HardLimit> limits, const std::vector<TakeScores>& start)
    : wishes_(std::move(wishes)), limits_(std::move(limits)) {
  for (const MetricWish& wish : wishes_) {
    const std::optional<double> mean = MeanOf(start, *wish.metric);
    if (!mean) throw RunError(fmt::format("wish {}: no take of these lessons has a value of it", wish.metric->name));
    means_.push_back(*mean);
    const double yardstick = std::max(std::abs(*mean), wish.metric->step_tolerance.Allowed(*mean));
    yardsticks_.push_back(yardstick > 0 ? yardstick : 1);
    weight_ += wish.weight;
  }
  const bool named =
      std::any_of(limits_.begin(), limits_.end(), [](const HardLimit& limit) { return limit.metric == kNearness; });
  const Metric& nearness = FindMetric(kNearness);
  const std::optional<double> nearest = WorstOf(start, nearness);
  if (named || !nearest) return;
  HardLimit guard;
  guard.metric = kNearness;
  guard.at_least = std::max(0.0, *nearest - nearness.step_tolerance.Allowed(*nearest));
  limits_.push_back(guard);
}

double WishJudge::Change(const MetricWish& wish, const std::vector<TakeScores>& takes) const {
  for (size_t i = 0; i < wishes_.size(); ++i) {
    if (wishes_[i].metric != wish.metric) continue;
    const std::optional<double> mean = MeanOf(takes, *wish.metric);
    return mean ? WorseSign(*wish.metric) * (*mean - means_[i]) / yardsticks_[i] : kFailed;
  }
  return 0;
}

double WishJudge::Broken(const std::vector<TakeScores>& takes) const {
  double out = 0;
  for (const HardLimit& limit : limits_) {
    double most = 0;
    for (const TakeScores& take : takes) {
      const auto value = ValueOf(take, FindMetric(limit.metric));
      if (!value) continue;
      const double bound = limit.at_least ? *limit.at_least : *limit.at_most;
      const double over = limit.at_least ? bound - *value : *value - bound;
      if (over > 0) most = std::max(most, 1 + over / std::max(std::abs(bound), 1e-3));
    }
    out += std::min(most, kFailed / 2);
  }
  return std::min(out, kFailed);
}

double WishJudge::CostWithoutLimits(const std::vector<TakeScores>& takes) const {
  double cost = 0;
  for (const MetricWish& wish : wishes_) cost += wish.weight / weight_ * Change(wish, takes);
  return cost;
}

double WishJudge::Cost(const std::vector<TakeScores>& takes) const {
  return takes.empty() ? kFailed : std::min(CostWithoutLimits(takes) + Broken(takes), kFailed);
}

NestedValues WishJudge::Gains(const std::vector<TakeScores>& from, const std::vector<TakeScores>& to) const {
  std::vector<std::pair<const TakeIdentity*, double>> out;
  for (size_t i = 0; i < std::min(from.size(), to.size()); ++i) {
    double gain = 0;
    for (size_t w = 0; w < wishes_.size(); ++w) {
      const Metric& metric = *wishes_[w].metric;
      const auto before = ValueOf(from[i], metric), after = ValueOf(to[i], metric);
      if (before && after) gain -= 100 * wishes_[w].weight / weight_ * WorseSign(metric) * (*after - *before) / yardsticks_[w];
    }
    out.emplace_back(&to[i].id, gain);
  }
  return Nest(out);
}

}  // namespace dryrig
