#include "bench/report.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "bench/context.h"
#include "bench/out_folder.h"
#include "bench/outside_options.h"
#include "bench/program.h"
#include "bench/report_takes.h"
#include "bench/scorecard.h"
#include "report_page.h"
#include "scenes/suite.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;
using Json = nlohmann::ordered_json;

constexpr int kDrawsShown = 2000;
constexpr size_t kWorst = 5;

/// Value and interval of one policy by one metric; the worst take alone where a mean would hide a near miss.
Json PolicyValue(const std::vector<const TakeScores*>& takes, size_t m, const std::optional<double>& gathered) {
  if (!gathered || GatherOf(Metrics()[m]) == Gather::kWorst) return {{"value", OrNull(gathered)}, {"interval", nullptr}};
  std::vector<std::pair<const TakeIdentity*, double>> values;
  for (const TakeScores* take : takes) {
    if (take->scores.at(m).value) values.emplace_back(&take->id, *take->scores[m].value);
  }
  const NestedValues nested = Nest(values);
  const Interval interval = HierarchicalInterval(nested, kDrawsShown, 1);
  return {{"value", NestedMean(nested)}, {"interval", {interval.lo, interval.hi}}};
}

/// The deployable policies' takes with the greatest framing error.
Json WorstTakes(const ReportInput& input, const std::vector<std::string>& labels) {
  const auto m = static_cast<size_t>(&FindMetric("framing_error") - Metrics().data());
  std::vector<std::pair<double, size_t>> order;
  for (size_t i = 0; i < input.takes.size(); ++i) {
    const auto& value = input.takes[i].scores.at(m).value;
    if (value && IsDeployable(input.takes[i].id.policy)) order.emplace_back(-*value, i);
  }
  std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  Json out = Json::array();
  for (size_t k = 0; k < std::min(kWorst, order.size()); ++k) {
    const size_t i = order[k].second;
    const TakeIdentity& id = input.takes[i].id;
    const StoredScore& score = input.takes[i].scores[m];
    out.push_back(
        {{"why", fmt::format("{} by {} with {}, seed {}: framing_error {:.2f}; worst at {:.1f} s, {}", id.lesson, labels[i],
                             id.person, id.seed, *score.value, score.worst_t_s.value_or(0), score.worst_what)},
         {"command", input.commands.at(i)}});
  }
  return out;
}

std::vector<std::string> VerdictLines(const ReportInput& input, const std::vector<PolicySummary>& summary) {
  std::vector<std::string> out;
  for (const PairedComparison& c : input.primary) {
    out.push_back(fmt::format(
        "{} is {} than {} in {}: mean difference {:.3g}, 95 % interval {:.3g} to {:.3g} (p {:.2g}, with Holm {:.2g}).", c.policy,
        c.better > 0   ? "better"
        : c.better < 0 ? "worse"
                       : "neither better nor worse",
        c.against, c.metric, c.difference, c.interval.lo, c.interval.hi, c.test.p, c.p_holm));
  }
  for (const Ranking& ranking : input.rankings) {
    out.push_back(fmt::format("The ranking by {} ({}) {} under {} other scoring keys.", ranking.metric,
                              fmt::join(ranking.order, ", "), ranking.holds() ? "holds" : "does not hold", ranking.under.size()));
  }
  if (std::any_of(input.primary.begin(), input.primary.end(), FewLessons)) out.emplace_back(kFewLessons);
  std::vector<std::string> unbeaten;
  for (const PolicySummary& policy : summary) {
    if (policy.unbeaten) unbeaten.push_back(policy.policy);
  }
  if (!unbeaten.empty())
    out.push_back(fmt::format("No other policy beats {} on every axis of the card.", fmt::join(unbeaten, ", ")));
  const auto near = static_cast<size_t>(&FindMetric("closest_approach") - Metrics().data());
  for (const PolicySummary& policy : summary) {
    if (policy.values[near] && *policy.values[near] < 0) {
      out.push_back(fmt::format("{} touched the person in at least one take.", policy.policy));
    }
  }
  if (out.empty()) out.emplace_back("No comparison was named beforehand; the table below is what there is.");
  return out;
}

}  // namespace

Json ReportJson(const ReportInput& input) {
  const std::vector<std::string> labels = PolicyLabels(input.takes);
  std::vector<PolicySummary> summary = Summarise(input.takes);
  MarkUnbeaten(&summary, kVisibilityFloor);
  Json out{{"title", input.title}, {"card", kAxes}, {"caution", kCaution}};
  out["verdict"] = VerdictLines(input, summary);
  out["context"] = input.context.empty() ? Json::object() : Json::parse(input.context);
  for (const Metric& metric : Metrics()) {
    out["metrics"].push_back(
        {{"name", metric.name}, {"unit", metric.unit}, {"better", DirectionWord(metric.direction)}, {"meaning", metric.meaning}});
  }
  for (const PolicySummary& policy : summary) {
    std::vector<const TakeScores*> takes;
    std::string label;
    for (size_t i = 0; i < input.takes.size(); ++i) {
      if (input.takes[i].id.policy != policy.policy || input.takes[i].id.params != policy.params) continue;
      takes.push_back(&input.takes[i]);
      label = labels[i];
    }
    Json one{{"label", label}, {"deployable", policy.deployable}, {"unbeaten", policy.unbeaten}, {"takes", policy.takes}};
    for (size_t m = 0; m < Metrics().size(); ++m) one["values"].push_back(PolicyValue(takes, m, policy.values[m]));
    out["policies"].push_back(one);
  }
  for (size_t i = 0; i < input.takes.size(); ++i) {
    const TakeIdentity& id = input.takes[i].id;
    Json one{{"lesson", id.lesson},   {"policy", labels[i]}, {"person", id.person},
             {"sensing", id.sensing}, {"seed", id.seed},     {"arm", id.arm}};
    for (const StoredScore& score : input.takes[i].scores) {
      one["values"].push_back(OrNull(score.value));
      one["worst"].push_back(score.worst_t_s ? fmt::format("{:.1f} s {}", *score.worst_t_s, score.worst_what) : score.worst_what);
    }
    out["takes"].push_back(one);
  }
  out["rankings"] = Json::array();
  for (const Ranking& ranking : input.rankings) out["rankings"].push_back(ToJson(ranking));
  out["worst_takes"] = WorstTakes(input, labels);
  return out;
}

std::string ReportHtml(const Json& data, const std::string& charts) {
  // `</script` inside JSON would end the element; JSON lets the stroke be escaped.
  std::string json = data.dump();
  for (size_t at = 0; (at = json.find("</", at)) != std::string::npos; at += 3) json.replace(at, 2, "<\\/");
  std::string page = kReportPage;
  const auto put = [&page](const std::string& mark, const std::string& text) {
    const size_t at = page.find(mark);
    if (at == std::string::npos) throw RunError("the report's page lacks " + mark);
    page.replace(at, mark.size(), text);
  };
  put("/*TAKES*/", kReportTakes);
  put("/*SCRIPT*/", kReportScript);
  put("/*DATA*/", json);
  put("/*CHARTS*/", charts);
  return page;
}

namespace {

struct ReportOptions {
  std::string results, out;
  std::vector<int64_t> takes;
  OutsideChoice outside;
  bool plain = false;
};

int RunReport(const ReportOptions& options) {
  options.outside.Load({});
  const fs::path folder(options.results);
  if (!fs::is_directory(folder))
    throw InputError(fmt::format("{} is no folder; name one that `dryrig compare` wrote", options.results));
  const Store store(folder / "results.db", Store::Mode::kRead);
  ReportInput input;
  std::vector<int64_t> ids;
  std::vector<std::vector<VariantScore>> variants;
  for (const int64_t id : store.TakeIds()) {
    input.takes.push_back({store.ReadIdentity(id), store.ReadScores(id)});
    if (input.takes.back().scores.size() != Metrics().size()) {
      throw InputError(fmt::format("{}: take {} has {} scores, this program has {} metrics; run the comparison again",
                                   options.results, id, input.takes.back().scores.size(), Metrics().size()));
    }
    ids.push_back(id);
    variants.push_back(store.ReadVariants(id));
    input.commands.push_back(CommandFor(ChoiceOf(input.takes.back().id), "out/again"));
  }
  if (input.takes.empty()) throw RunError(fmt::format("{} holds no take", options.results));
  input.context = store.ReadContext();
  input.title = "Dryrig: " + folder.lexically_normal().filename().string();
  if (fs::exists(folder / "suite.yaml")) {
    const Suite suite = ParseSuite(ReadTextFile(folder / "suite.yaml"), (folder / "suite.yaml").string());
    input.title = suite.title;
    input.primary = ComparePrimary(input.takes, suite.primary);
  }
  input.rankings = CompareRankings(input.takes, variants);
  if (!fs::exists(DRYRIG_CHARTS)) {
    throw RunError(fmt::format("the chart library is not at {}; install the package libjs-chart.js", DRYRIG_CHARTS));
  }
  std::vector<size_t> asked;
  for (const int64_t take : options.takes) {
    const auto at = std::find(ids.begin(), ids.end(), take);
    if (at == ids.end())
      throw InputError(fmt::format("{}: no take {}; there are {} to {}", options.results, take, ids.front(), ids.back()));
    asked.push_back(static_cast<size_t>(at - ids.begin()));
  }
  Json data = ReportJson(input);
  data["shown"] = Json::array();
  std::set<std::string> notes;
  if (!options.plain) data["shown"] = ShownTakesJson(store, ids, input.takes, ChooseShown(input.takes, asked), &notes);
  for (const std::string& note : notes) fmt::print(stderr, "dryrig: {}\n", note);
  const fs::path out = options.out.empty() ? folder / "report.html" : fs::path(options.out);
  WriteFile(out, ReportHtml(data, ReadTextFile(DRYRIG_CHARTS)));
  fmt::print("The report is {}; it works from disk, with no network.\n{}\n", out.string(), kCaution);
  return kFine;
}

}  // namespace

void AddReport(CommandTable& program) {
  auto options = std::make_shared<ReportOptions>();
  const Command command = program.Add("report", "Write one HTML page of a comparison: verdict, tables, charts, worst takes.");
  command.Add("results", options->results, "Folder that compare wrote").Required();
  command.Add("--out,-o", options->out, "File to write; default: report.html in that folder");
  command.Add("--take", options->takes, "Number of a take to show closely, beside the worst two and the median; may be repeated");
  command.Flag("--plain", options->plain, "Show no take closely: no sheets, time lines and replays, and a far smaller file");
  options->outside.AddTo(command);
  command.Footer("Example:\n  dryrig compare smoke --out out/smoke\n  dryrig report out/smoke");
  command.Run([options] { return RunReport(*options); });
}

}  // namespace dryrig
