#include <fmt/format.h>

#include <functional>
#include <nlohmann/json.hpp>

#include "bench/list_lessons.h"
#include "bench/outside_options.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "bench/suite_text.h"
#include "bench/text_table.h"
#include "metrics/metric.h"
#include "policies/choice.h"
#include "scenes/error.h"
#include "scenes/profile.h"

namespace dryrig {

namespace {

using Json = nlohmann::ordered_json;
using Align = TextTable::Align;

Json PoliciesJson() {
  Json out = Json::array();
  for (const PolicyEntry& policy : Policies()) {
    Json one{{"name", policy.name}, {"meaning", policy.meaning}, {"deployable", policy.deployable}, {"params", Json::array()}};
    for (const ParamInfo& info : policy.params()) {
      one["params"].push_back({{"name", info.name},
                               {"unit", info.unit},
                               {"default", info.value},
                               {"lo", info.lo},
                               {"hi", info.hi},
                               {"meaning", info.meaning}});
    }
    out.push_back(one);
  }
  return out;
}

std::string SetupLines() {
  TextTable table({Align::kLeft, Align::kLeft, Align::kRight, Align::kLeft, Align::kLeft, Align::kLeft});
  const TakeSetup usual;
  for (const SetupParam& param : SetupParams()) {
    table.Row({"  ", param.name, fmt::format("{:.4g}", param.get(usual)), param.unit, fmt::format("[{}, {}]", param.lo, param.hi),
               param.meaning});
  }
  return table.ToString();
}

std::string PoliciesText() {
  std::string out;
  for (const PolicyEntry& policy : Policies()) {
    out += fmt::format("{}{}: {}\n", policy.name, policy.deployable ? "" : " (not deployable)", policy.meaning);
    TextTable table({Align::kLeft, Align::kLeft, Align::kRight, Align::kLeft, Align::kLeft, Align::kLeft});
    for (const ParamInfo& info : policy.params()) {
      table.Row({"  ", info.name, ForMachines(info.value), info.unit, fmt::format("[{}, {}]", info.lo, info.hi), info.meaning});
    }
    out += table.ToString() + "\n";
  }
  return out +
         "Set a parameter with --set NAME=VALUE, or in a comparison with --policy POLICY:NAME=VALUE. Every policy also has "
         "these\n"
         "of the take: its thinking time, a safety layer between it and the servo, faults to plant.\n" +
         SetupLines();
}

Json MetricsJson() {
  Json out = Json::array();
  for (const Metric& metric : Metrics()) {
    out.push_back({{"name", metric.name},
                   {"unit", metric.unit},
                   {"better", DirectionWord(metric.direction)},
                   {"meaning", metric.meaning},
                   {"step_tolerance", {{"absolute", metric.step_tolerance.absolute}, {"share", metric.step_tolerance.share}}}});
  }
  return out;
}

std::string MetricsText() {
  TextTable table({Align::kLeft, Align::kLeft, Align::kLeft, Align::kLeft});
  table.Row({"metric", "unit", "better", "meaning"});
  table.Rule();
  for (const Metric& metric : Metrics()) {
    table.Row({std::string(metric.name), UnitForPeople(metric), DirectionWord(metric.direction), std::string(metric.meaning)});
  }
  return table.ToString();
}

/// Name, title and a few facts of every shipped file of a kind.
struct SceneRow {
  std::string name, title;
  Json facts;
};

std::string DegreesOrMetres(const Joint& joint, double value) {
  return joint.kind == JointKind::kRevolute ? fmt::format("{:.0f} deg", value * 180 / M_PI) : fmt::format("{:.3f} m", value);
}

SceneRow Describe(const ArmModel& arm) {
  return {arm.name,
          arm.title,
          {{"joints", arm.dof()},
           {"payload_kg", arm.payload_kg},
           {"first_joint_range", arm.joints.empty() ? ""
                                                    : DegreesOrMetres(arm.joints[0], arm.joints[0].lower) + " to " +
                                                          DegreesOrMetres(arm.joints[0], arm.joints[0].upper)}}};
}
SceneRow Describe(const PersonSpec& person) {
  return {person.name,
          person.title,
          {{"stature_m", person.stature_m},
           {"hand", person.left_handed ? "left" : "right"},
           {"posture", person.seated ? "seated" : "standing"}}};
}
SceneRow Describe(const CameraBody& camera) {
  return {camera.name,
          camera.title,
          {{"focal_mm", {camera.focal_min_m * 1e3, camera.focal_max_m * 1e3}},
           {"pixels", fmt::format("{}x{}", camera.width_px, camera.height_px)},
           {"frame_rate_hz", camera.frame_rate_hz},
           {"mass_kg", camera.mass_kg}}};
}
SceneRow Describe(const Bench& bench) {
  return {bench.name, bench.title, {{"width_m", bench.width_m}, {"depth_m", bench.depth_m}, {"height_m", bench.height_m}}};
}
SceneRow Describe(const Profile& profile) {
  std::string rules;
  for (const ClearanceRule rule : profile.enforced) rules += (rules.empty() ? "" : ", ") + std::string(ToString(rule));
  return {profile.name,
          profile.title,
          {{"enforces", rules},
           {"human_m_per_s", profile.human_speed.value},
           {"reaction_s", profile.reaction.value},
           {"watch_m", profile.watch.value}}};
}
SceneRow Describe(const Sensing& sensing) {
  return {sensing.name,
          sensing.title,
          {{"rate_hz", sensing.rate_hz},
           {"latency_s", sensing.latency_s},
           {"noise_m", sensing.noise_m},
           {"word_error_rate", sensing.word_error_rate}}};
}

template <class Read>
std::vector<SceneRow> DescribeAll(SceneKind kind, Read&& read) {
  std::vector<SceneRow> out;
  for (const std::string& name : ListScenes(kind)) out.push_back(Describe(read(FindScene(kind, name))));
  return out;
}

std::vector<SceneRow> Rows(const std::string& what) {
  if (what == "arms") return DescribeAll(SceneKind::kArm, [](const auto& file) { return ReadArm(file); });
  if (what == "people") return DescribeAll(SceneKind::kPerson, ReadPerson);
  if (what == "cameras") return DescribeAll(SceneKind::kCamera, ReadCamera);
  if (what == "profiles") return DescribeAll(SceneKind::kProfile, ReadProfile);
  if (what == "benches") return DescribeAll(SceneKind::kBench, ReadBench);
  return DescribeAll(SceneKind::kSensing, ReadSensing);
}

std::string FactText(const Json& value) {
  if (value.is_string()) return value.get<std::string>();
  if (value.is_array()) return value[0] == value[1] ? value[0].dump() : value[0].dump() + " to " + value[1].dump();
  return value.dump();
}

std::string ScenesText(const std::vector<SceneRow>& rows) {
  if (rows.empty()) return "none shipped\n";
  std::vector<std::string> header{"name", "title"};
  for (const auto& fact : rows.front().facts.items()) header.push_back(fact.key());
  TextTable table(std::vector<Align>(header.size(), Align::kLeft));
  table.Row(header);
  table.Rule();
  for (const SceneRow& row : rows) {
    std::vector<std::string> cells{row.name, row.title};
    for (const Json& fact : row.facts) cells.push_back(FactText(fact));
    table.Row(cells);
  }
  return table.ToString();
}

Json ScenesJson(const std::vector<SceneRow>& rows) {
  Json out = Json::array();
  for (const SceneRow& row : rows) {
    Json one{{"name", row.name}, {"title", row.title}};
    one.update(row.facts);
    out.push_back(one);
  }
  return out;
}

struct ListOptions {
  std::string what, of;
  OutsideChoice outside;
  bool json = false;
};

int RunList(const ListOptions& options) {
  static const std::vector<std::string> kKinds{"policies", "metrics", "lessons", "intents", "arms",    "people",
                                               "cameras",  "benches", "sensing", "suites",  "profiles"};
  if (std::find(kKinds.begin(), kKinds.end(), options.what) == kKinds.end()) {
    throw InputError(fmt::format("no list of \"{}\"{}", options.what.substr(0, 64), Suggest(options.what, kKinds)));
  }
  if (options.what == "intents" && options.of.empty()) {
    throw InputError("list intents: of which lesson? for one, dryrig list intents " + ListScenes(SceneKind::kLesson).front());
  }
  if (options.what != "intents" && !options.of.empty()) {
    throw InputError(fmt::format("list {} takes no \"{}\"; leave it out", options.what, options.of.substr(0, 64)));
  }
  options.outside.Load({});
  std::string text;
  if (options.what == "lessons")
    text = ListLessons(options.json);
  else if (options.what == "intents")
    text = ListIntents(options.of, options.json);
  else if (options.what == "suites")
    text = ListSuites(options.json);
  else if (options.what == "policies")
    text = options.json ? PoliciesJson().dump(2) + "\n" : PoliciesText();
  else if (options.what == "metrics")
    text = options.json ? MetricsJson().dump(2) + "\n" : MetricsText();
  else
    text = options.json ? ScenesJson(Rows(options.what)).dump(2) + "\n" : ScenesText(Rows(options.what));
  fmt::print("{}", text);
  return kFine;
}

}  // namespace

void AddList(CommandTable& program) {
  auto options = std::make_shared<ListOptions>();
  const Command command = program.Add("list", "List what is shipped.");
  command
      .Add("what", options->what,
           "policies, metrics, lessons, intents, arms, people, cameras, benches, sensing, suites or profiles")
      .Required();
  command.Add("of", options->of, "For intents: the lesson whose shot list is wanted");
  options->outside.AddTo(command);
  command.Flag("--json", options->json, "Print JSON");
  command.Footer("Examples:\n  dryrig list policies\n  dryrig list intents seedling");
  command.Run([options] { return RunList(*options); });
}

}  // namespace dryrig
