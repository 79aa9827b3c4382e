#include "bench/sensitivity.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>

#include "bench/paired.h"
#include "policies/table.h"

namespace dryrig {

namespace {

Shot Stepped(Shot shot, int steps) {
  constexpr int kClosest = static_cast<int>(ShotSize::kExtremeCloseUp);
  shot.size = static_cast<ShotSize>(std::clamp(static_cast<int>(shot.size) + steps, 0, kClosest));
  return shot;
}

std::vector<TimedIntent> Changed(const std::vector<TimedIntent>& intents, double duration_s, const SuiteVariant& variant) {
  std::vector<TimedIntent> out;
  for (TimedIntent intent : intents) {
    intent.start_s = std::clamp(intent.start_s + variant.shift_s, 0.0, duration_s);
    intent.end_s = std::clamp(intent.end_s + variant.shift_s, 0.0, duration_s);
    intent.shot = Stepped(intent.shot, variant.size_steps);
    if (intent.end_s > intent.start_s) out.push_back(std::move(intent));
  }
  return out;
}

/// The intents of a take while they are changed; theirs again at the end, whatever happens.
class Restored {
 public:
  explicit Restored(Take* take) : take_(take), intents_(take->intents) {}
  ~Restored() { take_->intents = std::move(intents_); }
  Restored(const Restored&) = delete;
  Restored& operator=(const Restored&) = delete;
  const std::vector<TimedIntent>& intents() const { return intents_; }

 private:
  Take* take_;
  std::vector<TimedIntent> intents_;
};

/// Mean over lessons by policy.
using Means = std::map<std::string, double>;

Means MeansOf(const std::vector<TakeScores>& takes, const std::vector<std::string>& labels, const std::string& metric) {
  std::map<std::string, std::vector<std::pair<const TakeIdentity*, double>>> values;
  for (size_t i = 0; i < takes.size(); ++i) {
    for (const StoredScore& score : takes[i].scores) {
      if (score.metric == metric && score.value) values[labels[i]].emplace_back(&takes[i].id, *score.value);
    }
  }
  Means out;
  for (const auto& [label, of_label] : values) out[label] = NestedMean(Nest(of_label));
  return out;
}

std::vector<std::string> Ordered(const Means& means, Direction direction) {
  std::vector<std::string> out;
  for (const auto& [label, mean] : means) out.push_back(label);
  std::stable_sort(out.begin(), out.end(), [&](const std::string& a, const std::string& b) {
    return direction == Direction::kUp ? means.at(a) > means.at(b) : means.at(a) < means.at(b);
  });
  return out;
}

/// The takes with the scores that a variant gave them.
std::vector<TakeScores> Under(const std::vector<TakeScores>& takes, const std::vector<std::vector<VariantScore>>& variants,
                              const std::string& variant) {
  std::vector<TakeScores> out;
  for (size_t i = 0; i < takes.size(); ++i) {
    out.push_back({takes[i].id, {}});
    for (const VariantScore& score : variants[i]) {
      if (score.variant == variant) out.back().scores.push_back({score.metric, score.unit, score.value, std::nullopt, ""});
    }
  }
  return out;
}

std::vector<Swap> SwapsBetween(const std::vector<std::string>& before, const std::vector<std::string>& now,
                               const std::vector<TakeScores>& takes, const std::string& metric) {
  std::vector<Swap> out;
  const auto place = [&now](const std::string& label) { return std::find(now.begin(), now.end(), label); };
  for (size_t a = 0; a < before.size(); ++a) {
    for (size_t b = a + 1; b < before.size(); ++b) {
      if (place(before[a]) < place(before[b])) continue;
      const PrimaryComparison pair{metric, before[a], before[b]};
      const std::vector<PairedComparison> paired = ComparePrimary(takes, {&pair, 1});
      out.push_back({before[a], before[b], !paired.empty() && paired.front().better > 0});
    }
  }
  return out;
}

}  // namespace

std::vector<VariantScore> ScoreVariants(Take* take, const std::vector<SuiteVariant>& variants) {
  std::vector<VariantScore> out;
  const Restored restored(take);
  for (const SuiteVariant& variant : variants) {
    take->intents = Changed(restored.intents(), take->duration_s, variant);
    Tolerances tolerances;
    tolerances.composition_heights *= variant.tolerances;
    tolerances.size_octaves *= variant.tolerances;
    tolerances.angle_deg *= variant.tolerances;
    const Footage footage(*take, tolerances);
    for (const char* axis : kKeyedAxes) {
      const Metric& metric = FindMetric(axis);
      out.push_back({ToString(variant), axis, std::string(metric.unit), metric.compute(footage).value});
    }
  }
  return out;
}

bool Ranking::holds() const {
  return std::none_of(under.begin(), under.end(), [](const Under& one) {
    return std::any_of(one.swaps.begin(), one.swaps.end(), [](const Swap& swap) { return swap.decided; });
  });
}

std::vector<Ranking> CompareRankings(const std::vector<TakeScores>& takes,
                                     const std::vector<std::vector<VariantScore>>& variants) {
  std::vector<TakeScores> ours;
  std::vector<std::vector<VariantScore>> theirs;
  std::vector<std::string> names;  // of variants, in order of appearance
  for (size_t i = 0; i < takes.size(); ++i) {
    if (variants.at(i).empty() || !IsDeployable(takes[i].id.policy)) continue;
    ours.push_back(takes[i]);
    theirs.push_back(variants[i]);
    for (const VariantScore& score : variants[i]) {
      if (std::find(names.begin(), names.end(), score.variant) == names.end()) names.push_back(score.variant);
    }
  }
  const std::vector<std::string> labels = PolicyLabels(ours);
  std::vector<Ranking> out;
  for (const char* axis : kKeyedAxes) {
    const Direction direction = FindMetric(axis).direction;
    Ranking ranking;
    ranking.metric = axis;
    ranking.order = Ordered(MeansOf(ours, labels, axis), direction);
    if (ranking.order.size() < 2) continue;
    for (const std::string& name : names) {
      Ranking::Under under;
      under.variant = name;
      under.order = Ordered(MeansOf(Under(ours, theirs, name), labels, axis), direction);
      if (under.order.size() == ranking.order.size()) under.swaps = SwapsBetween(ranking.order, under.order, ours, axis);
      ranking.under.push_back(std::move(under));
    }
    out.push_back(std::move(ranking));
  }
  return out;
}

std::string ToText(const std::vector<Ranking>& rankings) {
  std::string out;
  for (const Ranking& ranking : rankings) {
    out += fmt::format("{}: {}, best first: {} under {} other keys\n", ranking.metric, fmt::join(ranking.order, ", "),
                       ranking.holds() ? "the ranking holds" : "the ranking does NOT hold", ranking.under.size());
    for (const Ranking::Under& under : ranking.under) {
      for (const Swap& swap : under.swaps) {
        out += fmt::format("  {}: {} comes before {}, {}\n", under.variant, swap.below, swap.above,
                           swap.decided ? "which was better beyond its interval" : "between which the takes had not decided");
      }
    }
  }
  return out;
}

nlohmann::ordered_json ToJson(const Ranking& ranking) {
  nlohmann::ordered_json out{{"metric", ranking.metric}, {"order", ranking.order}, {"holds", ranking.holds()}};
  out["variants"] = nlohmann::ordered_json::array();
  for (const Ranking::Under& under : ranking.under) {
    nlohmann::ordered_json one{{"variant", under.variant}, {"order", under.order}};
    one["swaps"] = nlohmann::ordered_json::array();
    for (const Swap& swap : under.swaps)
      one["swaps"].push_back({{"above", swap.above}, {"below", swap.below}, {"decided", swap.decided}});
    out["variants"].push_back(one);
  }
  return out;
}

}  // namespace dryrig
