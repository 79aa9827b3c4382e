#include "bench/tune_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "bench/context.h"
#include "bench/csv.h"
#include "bench/scorecard.h"
#include "bench/text_table.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;
using Align = TextTable::Align;

std::optional<double> Gathered(const std::vector<TakeScores>& takes, const Metric& metric) {
  return GatherOf(metric) == Gather::kWorst ? WorstOf(takes, metric) : MeanOf(takes, metric);
}

Json ParamsJson(const SearchSpace& space, const SearchPoint& at) {
  Json out;
  for (size_t i = 0; i < space.size(); ++i) out[space[i].name] = at[i];
  return out;
}

std::string ParamTable(const Tuning& tuning) {
  std::vector<Align> columns{Align::kLeft, Align::kLeft, Align::kRight};
  std::vector<std::string> header{"parameter", "unit", "start"};
  for (size_t i = 0; i < tuning.settings.size(); ++i) {
    columns.push_back(Align::kRight);
    header.push_back(tuning.front.empty() ? "tuned" : fmt::format("{}.", i + 1));
  }
  columns.push_back(Align::kLeft);
  header.emplace_back("searched in");
  TextTable table(columns);
  table.Row(header);
  table.Rule();
  for (size_t p = 0; p < tuning.space.size(); ++p) {
    const SearchParam& param = tuning.space[p];
    std::vector<std::string> row{param.name, param.unit, ForMachines(param.start)};
    for (const TunedSetting& setting : tuning.settings) row.push_back(ForMachines(setting.at[p]));
    row.push_back(fmt::format("{} to {}{}", param.lo, param.hi, param.by_ratio() ? ", by ratios" : ""));
    table.Row(row);
  }
  return table.ToString();
}

std::string MetricTable(const TunedSetting& setting) {
  TextTable table(
      {Align::kLeft, Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kLeft});
  table.Row({"metric", "unit", "better", "start", "tuned", "held out: start", "tuned", "mean change there (95 %)"});
  table.Rule();
  for (const TunedMetric& m : setting.metrics) {
    std::string change = "-";
    if (m.held_change) change = fmt::format("{:+.4f} to {:+.4f}", m.held_change->lo, m.held_change->hi);
    table.Row({std::string(m.metric->name), UnitForPeople(*m.metric), DirectionWord(m.metric->direction),
               ForPeople(m.tuning_start), ForPeople(m.tuning_best), ForPeople(m.held_start), ForPeople(m.held_best), change});
  }
  return table.ToString();
}

std::string FrontTable(const Tuning& tuning) {
  TextTable table({Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kLeft});
  table.Row({"", tuning.front[0], tuning.front[1], "held out: " + tuning.front[0], tuning.front[1], "gained there"});
  table.Rule();
  const auto& start = tuning.settings.front().metrics;
  table.Row({"start", ForPeople(start[0].tuning_start), ForPeople(start[1].tuning_start), ForPeople(start[0].held_start),
             ForPeople(start[1].held_start), ""});
  for (size_t i = 0; i < tuning.settings.size(); ++i) {
    const TunedSetting& setting = tuning.settings[i];
    const auto& m = setting.metrics;
    table.Row({fmt::format("{}.", i + 1), ForPeople(m[0].tuning_best), ForPeople(m[1].tuning_best), ForPeople(m[0].held_best),
               ForPeople(m[1].held_best),
               !setting.limits_hold ? "no: breaks a limit"
               : setting.gained     ? "yes"
                                    : "not shown"});
  }
  return table.ToString();
}

Json MetricJson(const TunedMetric& m) {
  Json out{{"metric", m.metric->name},
           {"unit", m.metric->unit},
           {"tuning_start", OrNull(m.tuning_start)},
           {"tuning_tuned", OrNull(m.tuning_best)},
           {"held_out_start", OrNull(m.held_start)},
           {"held_out_tuned", OrNull(m.held_best)},
           {"held_out_change_95", nullptr}};
  if (m.held_change) out["held_out_change_95"] = {m.held_change->lo, m.held_change->hi};
  return out;
}

}  // namespace

bool Tuning::gained() const {
  return std::any_of(settings.begin(), settings.end(), [](const TunedSetting& setting) { return setting.gained; });
}

std::vector<TunedMetric> CompareMetrics(const WishJudge& judge, const std::vector<TakeScores>& tuning_start,
                                        const std::vector<TakeScores>& tuning_best, const std::vector<TakeScores>& held_start,
                                        const std::vector<TakeScores>& held_best) {
  std::vector<const Metric*> metrics;
  for (const MetricWish& wish : judge.wishes()) metrics.push_back(wish.metric);
  for (const char* name : kAxes) {
    const Metric* metric = &FindMetric(name);
    if (std::find(metrics.begin(), metrics.end(), metric) == metrics.end()) metrics.push_back(metric);
  }
  std::vector<TunedMetric> out;
  for (const Metric* metric : metrics) {
    TunedMetric one{metric,
                    Gathered(tuning_start, *metric),
                    Gathered(tuning_best, *metric),
                    Gathered(held_start, *metric),
                    Gathered(held_best, *metric),
                    std::nullopt};
    const NestedValues changes = Changes(held_start, held_best, *metric);
    if (!changes.empty()) one.held_change = HierarchicalInterval(changes, kTuningDraws, 1);
    out.push_back(one);
  }
  return out;
}

std::string VerdictLine(const Tuning& tuning) {
  const std::string where = fmt::format("lessons it was not tuned on ({})", fmt::join(tuning.held_out, ", "));
  if (!tuning.front.empty()) {
    const auto count = std::count_if(tuning.settings.begin(), tuning.settings.end(), [](const auto& one) { return one.gained; });
    if (count == 0) return fmt::format("Did not gain: on {} no setting of the front beats the start beyond its interval.", where);
    return fmt::format(
        "Gained: on {} {} of {} settings of the front beat{} the start in one of the two and {} not worse in the other, beyond "
        "the 95 % intervals.",
        where, count, tuning.settings.size(), count == 1 ? "s" : "", count == 1 ? "is" : "are");
  }
  const TunedSetting& best = tuning.settings.front();
  if (!best.compared)
    return "Did not gain: the search found nothing better than the start, on the lessons it was tuned on either.";
  const std::string numbers = fmt::format("{:+.1f} % by the wishes (95 %: {:+.1f} to {:+.1f})", best.held_gain,
                                          best.held_interval.lo, best.held_interval.hi);
  if (!best.limits_hold) return fmt::format("Did not gain: on {} it breaks a limit; {}.", where, numbers);
  if (best.gained) return fmt::format("Gained {} on {}.", numbers, where);
  return fmt::format("Did not gain: {} on {}: {}.", numbers, where,
                     best.held_interval.hi < 0 ? "it is worse there" : "the interval does not exclude 0");
}

std::string ToText(const Tuning& tuning) {
  std::string out =
      fmt::format("{} tuned on {}: {} takes an evaluation, {} evaluations; held out: {}, {} takes each\nWished: {}\n",
                  tuning.policy, fmt::join(tuning.tuned_on, ", "), tuning.takes_each, tuning.course.size(),
                  fmt::join(tuning.held_out, ", "), tuning.held_takes, fmt::join(tuning.wishes, ", "));
  if (!tuning.limits.empty()) out += fmt::format("No take may break: {}\n", fmt::join(tuning.limits, ", "));
  out += "\n" + ParamTable(tuning) + "\n";
  if (tuning.front.empty()) {
    const TunedSetting& best = tuning.settings.front();
    out += MetricTable(best);
    out += fmt::format("\nOn the lessons it was tuned on: {:+.1f} % by the wishes.\n", best.tuning_gain);
  } else {
    out += FrontTable(tuning) + "\n";
  }
  if (tuning.failed_takes > 0)
    out += fmt::format("{} takes failed; their settings were passed over. The first: {}\n", tuning.failed_takes,
                       tuning.first_failure);
  return out + Wrap(VerdictLine(tuning), 118, 0) + "\n";
}

Json ToJson(const Tuning& tuning) {
  Json out{{"dryrig", "tuning/1"},
           {"context", ToJson(ThisBuild())},
           {"policy", tuning.policy},
           {"tuned_on", tuning.tuned_on},
           {"held_out", tuning.held_out},
           {"wishes", tuning.wishes},
           {"limits", tuning.limits},
           {"front", tuning.front},
           {"takes_an_evaluation", tuning.takes_each},
           {"held_out_takes", tuning.held_takes},
           {"evaluations", tuning.course.size()},
           {"failed_takes", tuning.failed_takes}};
  for (const SearchParam& param : tuning.space) {
    out["params"].push_back(
        {{"name", param.name}, {"unit", param.unit}, {"start", param.start}, {"lo", param.lo}, {"hi", param.hi}});
  }
  for (const TunedSetting& setting : tuning.settings) {
    Json one{{"params", ParamsJson(tuning.space, setting.at)}, {"tuning_gain_percent", setting.tuning_gain}};
    one["held_out_gain_percent"] = setting.compared ? Json(setting.held_gain) : Json(nullptr);
    one["held_out_gain_percent_95"] = setting.compared ? Json{setting.held_interval.lo, setting.held_interval.hi} : Json(nullptr);
    one["limits_hold"] = setting.limits_hold;
    one["gained"] = setting.gained;
    for (const TunedMetric& metric : setting.metrics) one["metrics"].push_back(MetricJson(metric));
    out["settings"].push_back(one);
  }
  out["gained"] = tuning.gained();
  out["verdict"] = VerdictLine(tuning);
  out["caution"] = kCaution;
  return out;
}

std::string CourseCsv(const Tuning& tuning) {
  CsvLine header;
  header.Text("evaluation");
  for (const SearchParam& param : tuning.space) header.Text(param.name);
  const bool front = !tuning.front.empty();
  for (const std::string& name : front ? tuning.front : std::vector<std::string>{"by_the_wishes"}) header.Text(name + "_cost");
  header.Text("failed");
  header.Text("limit_broken");
  std::string out = header.Done();
  for (size_t i = 0; i < tuning.course.size(); ++i) {
    const TriedPoint& tried = tuning.course[i];
    CsvLine line;
    line.Text(std::to_string(i + 1));
    for (const double value : tried.at) line.Number(value);
    for (const double cost : tried.costs) line.Number(cost);
    line.Text(tried.failed ? "1" : "0");
    line.Text(tried.broken ? "1" : "0");
    out += line.Done();
  }
  return out;
}

}  // namespace dryrig
