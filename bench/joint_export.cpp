#include "bench/joint_export.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <numbers>

#include "bench/csv.h"
#include "bench/out_folder.h"
#include "bench/program.h"
#include "policies/stored_take.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr double kMostRate_hz = 1000, kLeastRate_hz = 20;

double ToUnit(const Joint& joint) {
  return joint.kind == JointKind::kRevolute ? 180 / std::numbers::pi : 1000;
}
const char* UnitOf(const Joint& joint) {
  return joint.kind == JointKind::kRevolute ? "deg" : "mm";
}

/// `0,-13.4,114.8,0,23.6,0`: one number a joint, degrees or millimetres, in the arm's order.
JointVector ParsePosture(const std::string& text, const ArmModel& arm) {
  std::vector<double> values;
  for (size_t at = 0; at <= text.size();) {
    const size_t end = std::min(text.find(',', at), text.size());
    double value = 0;
    const auto parsed = std::from_chars(text.data() + at, text.data() + end, value);
    if (parsed.ec != std::errc() || parsed.ptr != text.data() + end || !std::isfinite(value))
      throw InputError(fmt::format("--park: expected a number, found \"{}\"", text.substr(at, end - at)));
    values.push_back(value);
    at = end + 1;
  }
  if (static_cast<int>(values.size()) != arm.dof()) {
    std::string names;
    for (const Joint& joint : arm.joints) names += fmt::format("{}{} [{}]", names.empty() ? "" : ", ", joint.name, UnitOf(joint));
    throw InputError(fmt::format("--park has {} numbers, arm {} has {} joints: {}", values.size(), arm.name, arm.dof(), names));
  }
  JointVector out(arm.dof());
  for (int j = 0; j < arm.dof(); ++j) out[j] = values[static_cast<size_t>(j)] / ToUnit(arm.joints[static_cast<size_t>(j)]);
  return out;
}

BuiltTogether ParseTogether(const std::vector<std::string>& texts) {
  BuiltTogether out;
  for (const std::string& text : texts) {
    const size_t colon = text.find(':');
    if (colon == std::string::npos)
      throw InputError(fmt::format("--built-together {}: expected BODY:BODY, two of the arm's own bodies", text));
    out.emplace_back(text.substr(0, colon), text.substr(colon + 1));
  }
  return out;
}

std::string Posture(const ArmModel& arm, const JointVector& q) {
  std::string out;
  for (int j = 0; j < arm.dof(); ++j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    out += fmt::format("{}{} {:.4g} {}", j == 0 ? "" : ", ", joint.name, q[j] * ToUnit(joint), UnitOf(joint));
  }
  return out;
}

/// Whole nanoseconds from the start.
int64_t Nanoseconds(const JointPlan& plan, size_t point) {
  return static_cast<int64_t>(std::llround(plan.TimeOf(point) * 1e9));
}

std::string FlowList(const JointVector& x) {
  std::string out = "[";
  for (int j = 0; j < x.size(); ++j) out += fmt::format("{}{}", j == 0 ? "" : ", ", x[j] == 0 ? 0.0 : x[j]);
  return out + "]";
}

std::string JointYaml(const ArmModel& arm, const JointPlan& plan, const std::vector<std::string>& notice) {
  fmt::memory_buffer out;
  const auto put = [&out](const std::string& text) { out.append(text); };
  for (const std::string& line : notice) put("# " + line + "\n");
  put("header:\n  stamp: {sec: 0, nanosec: 0}\n  frame_id: \"\"\njoint_names:\n");
  for (const Joint& joint : arm.joints) put(fmt::format("  - \"{}\"\n", joint.name));
  put("points:\n");
  for (size_t i = 0; i < plan.points.size(); ++i) {
    const JointPoint& point = plan.points[i];
    const int64_t ns = Nanoseconds(plan, i);
    put(fmt::format("  - positions: {}\n    velocities: {}\n    accelerations: {}\n    effort: []\n", FlowList(point.q),
                    FlowList(point.qd), FlowList(point.qdd)));
    put(fmt::format("    time_from_start: {{sec: {}, nanosec: {}}}\n", ns / 1'000'000'000, ns % 1'000'000'000));
  }
  return fmt::to_string(out);
}

std::string JointJson(const ArmModel& arm, const JointPlan& plan, const std::vector<std::string>& notice) {
  using Ordered = nlohmann::ordered_json;
  Ordered names = Ordered::array(), points = Ordered::array();
  for (const Joint& joint : arm.joints) names.push_back(joint.name);
  const auto list = [](const JointVector& x) { return std::vector<double>(x.begin(), x.end()); };
  for (size_t i = 0; i < plan.points.size(); ++i) {
    const JointPoint& point = plan.points[i];
    const int64_t ns = Nanoseconds(plan, i);
    points.push_back({{"positions", list(point.q)},
                      {"velocities", list(point.qd)},
                      {"accelerations", list(point.qdd)},
                      {"effort", Ordered::array()},
                      {"time_from_start", {{"sec", ns / 1'000'000'000}, {"nanosec", ns % 1'000'000'000}}}});
  }
  const Ordered header{{"stamp", {{"sec", 0}, {"nanosec", 0}}}, {"frame_id", ""}};
  const Ordered all{{"notice", notice}, {"header", header}, {"joint_names", names}, {"points", points}};
  return all.dump(1) + "\n";
}

std::string JointCsv(const ArmModel& arm, const JointPlan& plan, const std::vector<std::string>& notice) {
  std::string out;
  for (const std::string& line : notice) out += "# " + line + "\n";
  CsvLine header;
  header.Text("t_s");
  for (const char* quantity : {"position", "velocity", "acceleration"}) {
    const std::string per = *quantity == 'p' ? "" : *quantity == 'v' ? "_per_s" : "_per_s2";
    for (const Joint& joint : arm.joints)
      header.Text(fmt::format("{}_{}_{}{}", joint.name, quantity, joint.kind == JointKind::kRevolute ? "rad" : "m", per));
  }
  out += header.Done();
  for (size_t i = 0; i < plan.points.size(); ++i) {
    CsvLine line;
    line.Number(static_cast<double>(Nanoseconds(plan, i)) / 1e9);
    for (const JointVector* x : {&plan.points[i].q, &plan.points[i].qd, &plan.points[i].qdd}) {
      for (const double value : *x) line.Number(value);
    }
    out += line.Done();
  }
  return out;
}

}  // namespace

JointForm JointFormOf(const std::string& file) {
  const std::string end = std::filesystem::path(file).extension().string();
  if (end == ".yaml" || end == ".yml") return JointForm::kYaml;
  if (end == ".json") return JointForm::kJson;
  if (end == ".csv") return JointForm::kCsv;
  throw InputError(fmt::format("--joints {}: the ending tells the form: .yaml, .json or .csv", file));
}

std::vector<std::string> JointNotice(const Take& take, const ArmModel& arm, const JointPlan& plan, const PlanCheck& check,
                                     double least_m, const BuiltTogether& together) {
  const TakeIdentity& id = take.id;
  const std::string nearest = check.nearest.empty()
                                  ? fmt::format("no part of the arm came within {:.0f} mm of the person", kPlanWatch_m * 1000)
                                  : fmt::format("nearest to the person {:.0f} mm ({})", check.nearest_m * 1000, check.nearest);
  std::string but;
  for (const auto& [a, b] : together)
    but += fmt::format("{} {} – {}", but.empty() ? " Not held against each other, as told:" : ",", a, b);
  return {
      fmt::format("Joint motion of arm {}, planned for ONE recorded performance: {} in lesson {}, seed {}, filmed by {}.", id.arm,
                  id.person, id.lesson, id.seed, id.policy),
      "The person will not move that way again: played beside a person this motion sees nobody and gives way to nobody.",
      "No risk assessment: defer to the robot's manual, the standards in force, local codes and a qualified person.",
      fmt::format("Parked at: {}.", Posture(arm, plan.points.front().q)),
      fmt::format("The lesson begins at {:.3f} s, its motion ends at {:.3f} s, the arm stands at {:.3f} s, is back at {:.3f} s.",
                  plan.lead_s, plan.lead_s + plan.film_s, plan.lead_s + plan.film_s + plan.stop_s,
                  plan.TimeOf(plan.points.size() - 1)),
      fmt::format("Checked as commanded, before writing, between points too: {}, allowed {:.0f} mm, the person standing as at "
                  "the lesson's ends before and after it;",
                  nearest, least_m * 1000),
      fmt::format("at most {:.1f} % of a joint's velocity limit, {:.1f} % of acceleration, {:.1f} % of torque; arm, bench, zones "
                  "and props do not touch.{}",
                  check.velocity_share * 100, check.acceleration_share * 100, check.torque_share * 100,
                  but.empty() ? "" : but + "."),
      fmt::format("{} points, {:g} a second; rad, m, s. Between points: the fifth-order polynomial through positions, velocities "
                  "and accelerations.",
                  plan.points.size(), plan.rate_hz),
  };
}

std::string JointText(const ArmModel& arm, const JointPlan& plan, const std::vector<std::string>& notice, JointForm form) {
  switch (form) {
    case JointForm::kYaml:
      return JointYaml(arm, plan, notice);
    case JointForm::kJson:
      return JointJson(arm, plan, notice);
    case JointForm::kCsv:
      return JointCsv(arm, plan, notice);
  }
  return {};
}

std::string BreachText(const PlanBreach& breach) {
  return fmt::format("{} {:.4g} {} at {:.3f} s, limit {:.4g} {}", breach.what, breach.value, breach.unit, breach.t_s,
                     breach.limit, breach.unit);
}

int ExportJoints(const std::string& text, const JointExport& options) {
  const JointForm form = JointFormOf(options.file);
  if (!(options.rate_hz >= kLeastRate_hz && options.rate_hz <= kMostRate_hz))
    throw InputError(fmt::format("--rate-hz {} is outside [{}, {}] Hz", options.rate_hz, kLeastRate_hz, kMostRate_hz));
  if (!(options.least_mm >= 0 && options.least_mm <= 2000))
    throw InputError(fmt::format("--least-mm {} is outside [0, 2000] mm", options.least_mm));
  const TakeRef ref = ParseTakeRef(text);
  const Store store(ref.db, Store::Mode::kRead);
  const Take take = store.ReadTake(ref.id);
  const TakeSetup setup = PrepareStored(store, ref.id, options.arm).setup;
  const ArmModel& arm = setup.stage.arm;
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  JointPlanSpec spec;
  spec.rate_hz = options.rate_hz;
  spec.parking = options.park.empty() ? JointVector(arm.home) : ParsePosture(options.park, arm);
  const JointPlan plan = PlanJoints(take, arm, spec);
  const double least_m = options.least_mm / 1000;
  const BuiltTogether together = ParseTogether(options.together);
  const PlanCheck check = CheckPlan(take, arm, performance, plan, least_m, together);
  if (!check.breaches.empty()) {
    for (const PlanBreach& breach : check.breaches) fmt::print(stderr, "dryrig: {}\n", BreachText(breach));
    fmt::print(stderr,
               "dryrig: {} of the limits would be broken; {} is not written. Times are the trajectory's; the lesson begins at "
               "{:.3f} s\n",
               check.breaches.size(), options.file, plan.lead_s);
    return kVerdictNo;
  }
  const std::vector<std::string> notice = JointNotice(take, arm, plan, check, least_m, together);
  WriteFile(options.file, JointText(arm, plan, notice, form));
  for (const std::string& line : notice) fmt::print("{}\n", line);
  return kFine;
}

}  // namespace dryrig
