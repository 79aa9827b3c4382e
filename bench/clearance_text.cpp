#include "bench/clearance_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "bench/text_table.h"
#include "bench/time_canvas.h"

namespace dryrig {

namespace {

using Align = TextTable::Align;

constexpr size_t kShownPairs = 10, kShownGaps = 4;

const char* UnitOf(ClearanceRule rule) {
  return rule == ClearanceRule::kSeparation || rule == ClearanceRule::kHead ? "m" : "m/s";
}

const char* MeaningOf(ClearanceRule rule) {
  switch (rule) {
    case ClearanceRule::kSpeed:
      return "fastest point of the arm";
    case ClearanceRule::kSeparation:
      return "distance over protective separation";
    case ClearanceRule::kContact:
      return "closing speed under what the region permits";
    case ClearanceRule::kHead:
      return "the arm can stop short of head and face: no contact is accepted";
    case ClearanceRule::kClamping:
      return "closing speed and force where a limb can be pressed";
  }
  return "";
}

const SeparationTerms& TermsOf(const PairMoment& moment, const Profile& profile) {
  return profile.measured ? moment.measured : moment.constant;
}

std::string RuleLines(const Profile& profile, const ClearanceStudy& study) {
  TextTable table(
      {Align::kLeft, Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight, Align::kLeft});
  table.Row({"rule", "enforced", "", "actual", "permitted", "margin", "at", "worst moment"});
  table.Rule();
  for (const RuleResult& rule : study.rules) {
    const std::string name(ToString(rule.rule)), enforced = rule.enforced ? "yes" : "no";
    if (!rule.margin) {
      table.Row({name, enforced, "kept", "-", "-", "-", "-", "never arose"});
      continue;
    }
    const char* unit = UnitOf(rule.rule);
    std::string what = rule.what;
    if (!rule.searched) what += ", the nearest moment alone";
    if (rule.rule == ClearanceRule::kClamping && rule.moment->clamping) {
      const Clamping& clamping = *rule.moment->clamping;
      what +=
          fmt::format(" against {}, could press with {:.0f} N of {:.0f} N", clamping.against, clamping.press_N, clamping.limit_N);
    }
    table.Row({name, enforced, rule.broken() ? "BROKEN" : "kept", fmt::format("{:.3f} {}", rule.value, unit),
               fmt::format("{:.3f} {}", rule.limit, unit), fmt::format("{:+.3f}", *rule.margin),
               fmt::format("{:.2f} s", rule.t_s), what});
  }
  std::string out = table.ToString();
  for (const RuleResult& rule : study.rules) out += fmt::format("  {}: {}\n", ToString(rule.rule), MeaningOf(rule.rule));
  (void)profile;
  return out;
}

std::string PairLines(const Take& take, const Profile& profile, const ClearanceStudy& study) {
  if (study.pairs.empty()) return fmt::format("No part of the arm came within {} m of the person.\n", profile.watch.value);
  TextTable table({Align::kRight, Align::kLeft, Align::kLeft, Align::kRight, Align::kRight, Align::kRight, Align::kRight,
                   Align::kRight, Align::kRight, Align::kRight, Align::kRight});
  table.Row(
      {"time", "pair", "region", "distance", "least ever", "robot", "person", "protective", "mass", "permissible", "margin"});
  table.Row({"[s]", "", "", "[m]", "[m]", "[m/s]", "[m/s]", "[m]", "[kg]", "[m/s]", "[m/s]"});
  table.Rule();
  for (size_t i = 0; i < std::min(kShownPairs, study.pairs.size()); ++i) {
    const PairWorst& pair = study.pairs[i];
    const PairMoment& at = pair.moment;
    const bool judged = at.robot_approaches() && !at.no_contact;
    table.Row({fmt::format("{:.2f}", at.t_s), PairText(take, at), at.region, fmt::format("{:.3f}", at.distance_m),
               fmt::format("{:.3f}", pair.bound_m), fmt::format("{:.3f}", at.robot_mps), fmt::format("{:.3f}", at.person_mps),
               fmt::format("{:.3f}", TermsOf(at, profile).total_m()), fmt::format("{:.2f}", at.reflected_kg),
               at.no_contact ? "none" : fmt::format("{:.3f}", at.permissible_mps),
               judged ? fmt::format("{:+.3f}", at.contact_margin_mps()) : "-"});
  }
  std::string out = table.ToString();
  if (study.pairs.size() > kShownPairs)
    out +=
        fmt::format("  and {} more pairs within {} m; --json tells all\n", study.pairs.size() - kShownPairs, profile.watch.value);
  return out;
}

std::string TermLines(const Take& take, const Profile& profile, const ClearanceStudy& study) {
  const RuleResult& rule = study.rules[static_cast<size_t>(ClearanceRule::kSeparation)];
  if (!rule.moment) return "";
  const PairMoment& at = *rule.moment;
  const SeparationTerms& terms = TermsOf(at, profile);
  const double until_s = profile.reaction.value + at.stopping_s;
  std::string out = fmt::format("Protective separation at {:.2f} s, {}, {} form:\n", at.t_s, PairText(take, at),
                                profile.measured ? "measured-speed" : "constant-speed");
  TextTable table({Align::kLeft, Align::kRight, Align::kLeft});
  const auto row = [&](const std::string& name, double value_m, const std::string& source) {
    table.Row({"  " + name, fmt::format("{:.3f} m", value_m), source});
  };
  const double human_mps = until_s > 0 ? terms.human_m / until_s : 0;
  row("S_h person", terms.human_m,
      fmt::format("{:.3f} m/s for T_r {:.3f} s and T_s {:.3f} s; {}", human_mps, profile.reaction.value, at.stopping_s,
                  profile.measured ? "the person's own speed toward the arm" : profile.human_speed.source));
  row("S_r robot reacts", terms.reaction_m,
      fmt::format("joints as fast as they are for T_r, simulated; T_r: {}", profile.reaction.source));
  row("S_s robot stops", terms.stopping_m,
      fmt::format("simulated from the arm's own limits at this pose and speed with its camera; brakes have {:.0f} % of them",
                  100 * at.torque_share));
  row("C intrusion", terms.intrusion_m, profile.intrusion.source);
  row("Z_d person", terms.person_error_m, profile.person_error.source);
  row("Z_r robot", terms.robot_error_m, profile.robot_error.source);
  row("S_p", terms.total_m(), fmt::format("distance {:.3f} m", at.distance_m));
  out += table.ToString();
  const double still_m = profile.human_speed.value * profile.reaction.value + profile.intrusion.value +
                         profile.person_error.value + profile.robot_error.value;
  out += fmt::format("  An arm at rest has S_p {:.2f} m with a person at {} m/s: bench work is mostly nearer.\n", still_m,
                     profile.human_speed.value);
  return out;
}

nlohmann::ordered_json TermsJson(const SeparationTerms& terms) {
  return {{"S_h_m", terms.human_m},   {"S_r_m", terms.reaction_m},     {"S_s_m", terms.stopping_m},
          {"C_m", terms.intrusion_m}, {"Z_d_m", terms.person_error_m}, {"Z_r_m", terms.robot_error_m},
          {"S_p_m", terms.total_m()}};
}

nlohmann::ordered_json MomentJson(const Take& take, const PairMoment& at) {
  nlohmann::ordered_json out{{"t_s", at.t_s},
                             {"pair", PairText(take, at)},
                             {"region", at.region},
                             {"distance_m", at.distance_m},
                             {"robot_mps", at.robot_mps},
                             {"person_mps", at.person_mps},
                             {"stopping_s", at.stopping_s},
                             {"braking_share", at.torque_share},
                             {"constant_speed", TermsJson(at.constant)},
                             {"measured_speed", TermsJson(at.measured)},
                             {"reflected_mass_kg", at.reflected_kg},
                             {"reduced_mass_kg", at.reduced_kg},
                             {"contact_accepted", !at.no_contact},
                             {"permissible_mps", at.permissible_mps},
                             {"margin_mps", at.contact_margin_mps()}};
  if (at.clamping) {
    out["clamping"] = {{"against", at.clamping->against},
                       {"gap_m", at.clamping->gap_m},
                       {"permissible_mps", at.clamping->permissible_mps},
                       {"press_N", at.clamping->press_N},
                       {"limit_N", at.clamping->limit_N}};
  }
  return out;
}

nlohmann::ordered_json TermJson(const ProfileTerm& term) {
  return {{"value", term.value}, {"source", term.source}};
}

}  // namespace

std::string VerdictText(const ClearanceStudy& study) {
  std::vector<std::string> broken;
  for (const RuleResult& rule : study.rules) {
    if (rule.enforced && rule.broken()) broken.emplace_back(ToString(rule.rule));
  }
  if (study.strikes(GapKind::kStill)) broken.emplace_back("the arm strikes what is fixed");
  if (study.strikes(GapKind::kZone)) broken.emplace_back("the arm enters a zone");
  return broken.empty() ? "allowed" : fmt::format("NOT ALLOWED: {}", fmt::join(broken, ", "));
}

namespace {

/// How long a safety layer did what to the policy's path.
std::map<GovernorState, double> GovernedFor(const Take& take) {
  std::map<GovernorState, double> out;
  for (const GovernedSpell& spell : take.governed) out[spell.state] += spell.end_s - spell.start_s;
  return out;
}

std::string GovernorLine(const Take& take) {
  if (take.governed.empty()) return "No safety layer stood between policy and servo.\n";
  std::string out;
  for (const auto& [state, for_s] : GovernedFor(take))
    out += fmt::format("{}{} {:.1f} s", out.empty() ? "Safety layer: " : ", ", ToString(state), for_s);
  return out + ".\n";
}

std::vector<std::string> FaultsTold(const Take& take) {
  std::vector<std::string> joints;
  for (const JointLimit& joint : take.joints) joints.push_back(joint.name);
  return take.faults.Told(joints);
}

}  // namespace

std::string ClearanceText(const Take& take, const Profile& profile, const ClearanceStudy& study) {
  std::string out =
      fmt::format("{}: policy {} on arm {}, {} at the {}, seed {}\nprofile {}: {}\n\n", take.id.lesson, take.id.policy,
                  take.id.arm, take.id.person, take.id.bench, take.id.seed, profile.name, profile.title);
  out += RuleLines(profile, study) + "\n" + PairLines(take, profile, study) + "\n" + TermLines(take, profile, study) + "\n";
  out += fmt::format("Nearest: {:.3f} m at {:.2f} s, {}; never less than {:.3f} m, between ticks neither.\n",
                     study.nearest.distance_m, study.nearest.t_s, PairText(take, study.nearest), study.nearest_bound_m);
  out += fmt::format("Touches: {} of {} ticks, {} of those by the person alone.\n", study.touches, take.ticks.size(),
                     study.touches_by_person);
  out += GovernorLine(take);
  for (const std::string& fault : FaultsTold(take)) out += fmt::format("Planted fault: {}.\n", fault);
  for (size_t i = 0; i < std::min(kShownGaps, study.gaps.size()); ++i) {
    const SolidGap& gap = study.gaps[i];
    out += fmt::format("{} {} – {}: {:.3f} m at {:.2f} s{}\n", i == 0 ? "Arm:" : "    ", gap.a, gap.b, gap.least_m, gap.t_s,
                       gap.least_m <= 0 ? ", INTO EACH OTHER" : "");
  }
  if (study.strikes(GapKind::kSelf))
    out += "Warning: bodies of the arm go into each other: the simulator lets them, a real arm would strike itself or stop.\n";
  if (study.strikes(GapKind::kProp)) out += "Warning: the arm strikes a prop.\n";
  out += fmt::format("\nVerdict under {}: {}\n", profile.name, VerdictText(study));
  return out;
}

nlohmann::ordered_json ClearanceJson(const Take& take, const Profile& profile, const ClearanceStudy& study) {
  nlohmann::ordered_json out;
  out["caution"] = kClearanceCaution;
  out["take"] = {{"lesson", take.id.lesson}, {"policy", take.id.policy},   {"params", take.id.params},
                 {"arm", take.id.arm},       {"bench", take.id.bench},     {"person", take.id.person},
                 {"camera", take.id.camera}, {"sensing", take.id.sensing}, {"seed", take.id.seed}};
  out["profile"] = {{"name", profile.name},
                    {"title", profile.title},
                    {"measured", profile.measured},
                    {"tool_speed_mps", TermJson(profile.tool_speed)},
                    {"human_speed_mps", TermJson(profile.human_speed)},
                    {"reaction_s", TermJson(profile.reaction)},
                    {"intrusion_m", TermJson(profile.intrusion)},
                    {"person_error_m", TermJson(profile.person_error)},
                    {"robot_error_m", TermJson(profile.robot_error)},
                    {"watch_m", TermJson(profile.watch)},
                    {"press_limit_N", TermJson(profile.press_limit)}};
  for (const auto& [state, for_s] : GovernedFor(take)) out["governed_s"][std::string(ToString(state))] = for_s;
  out["planted_faults"] = FaultsTold(take);
  out["allowed"] = study.allowed();
  out["verdict"] = VerdictText(study);
  out["rules"] = nlohmann::ordered_json::array();
  for (const RuleResult& rule : study.rules) {
    nlohmann::ordered_json one{{"rule", ToString(rule.rule)}, {"enforced", rule.enforced}, {"broken", rule.broken()}};
    one["margin"] = rule.margin ? nlohmann::ordered_json(*rule.margin) : nullptr;
    if (rule.margin) {
      one["unit"] = UnitOf(rule.rule);
      one["whole_take"] = rule.searched;
      one["actual"] = rule.value, one["permitted"] = rule.limit, one["t_s"] = rule.t_s, one["what"] = rule.what;
    }
    if (rule.moment) one["moment"] = MomentJson(take, *rule.moment);
    out["rules"].push_back(std::move(one));
  }
  out["nearest"] = MomentJson(take, study.nearest);
  out["nearest_bound_m"] = study.nearest_bound_m;
  out["touches"] = {{"ticks", study.touches}, {"by_the_person_alone", study.touches_by_person}};
  out["pairs"] = nlohmann::ordered_json::array();
  for (const PairWorst& pair : study.pairs) {
    nlohmann::ordered_json one = MomentJson(take, pair.moment);
    one["least_m"] = pair.least_m, one["least_t_s"] = pair.least_t_s, one["bound_m"] = pair.bound_m;
    out["pairs"].push_back(std::move(one));
  }
  out["gaps"] = nlohmann::ordered_json::array();
  for (const SolidGap& gap : study.gaps)
    out["gaps"].push_back({{"a", gap.a}, {"b", gap.b}, {"t_s", gap.t_s}, {"least_m", gap.least_m}, {"bound_m", gap.bound_m}});
  return out;
}

std::string ClearanceSvg(const Take& take, const Profile& profile, const ClearanceStudy& study) {
  TimeCanvas canvas(take.duration_s);
  const auto line = [&](double y, int size, const std::string& text) {
    canvas.Add(R"(<text x="14" y="{:.0f}" font-size="{}">{}</text>)", y, size, Escaped(text));
  };
  line(24, 16,
       fmt::format("{}: policy {} on arm {}, {} at the {}: {}", take.id.lesson, take.id.policy, take.id.arm, take.id.person,
                   take.id.bench, VerdictText(study)));
  line(42, 12,
       fmt::format("profile {}. ▲ marks a worst moment. A simulation is no risk assessment: the robot's manual, the standards in "
                   "force,",
                   profile.name));
  line(57, 12, "local codes and a qualified person decide.");
  double y = TimeLayout::kTop + 8;
  const auto panel = [&](const TimePanel& shown, Score score, const char* unit) {
    DrawPanel(&canvas, y, shown, score, unit);
    y += TimeLayout::kPanel + TimeLayout::kGap;
  };
  Score distance{study.nearest.distance_m, study.nearest.t_s, PairText(take, study.nearest), {take.id.physics_hz, {}}};
  Score closing{std::nullopt, std::nullopt, "", {take.id.physics_hz, {}}};
  for (const TakeTick& tick : take.ticks) {
    distance.series.values.push_back(tick.clearance.distance_m);
    closing.series.values.push_back(std::max(0.0, tick.approach_mps));
    if (!closing.value || closing.series.values.back() > *closing.value) {
      closing.value = closing.series.values.back();
      closing.worst_t_s = static_cast<double>(closing.series.values.size() - 1) / take.id.physics_hz;
      closing.worst_what = "nearest pair";
    }
  }
  panel({"distance", "distance to person", 1, profile.watch.value, "watched below"}, std::move(distance), "m");
  panel({"closing", "closing speed", 1, profile.tool_speed.value, "reduced speed"}, std::move(closing), "m/s");
  for (const RuleResult& rule : study.rules) {
    canvas.Label(y + 14, fmt::format("{}{}", ToString(rule.rule), rule.enforced ? "" : " (told)"));
    canvas.Add(R"(<path d="M{:.1f} {:.1f}h{}" stroke="#ccc"/>)", TimeLayout::kLeft, y + 10, canvas.columns());
    if (rule.margin) {
      const double x = canvas.X(rule.t_s);
      canvas.Add(R"(<path d="M{:.1f} {:.1f}l-5 9h10z" fill="{}"/>)", x, y + 5, rule.broken() ? "#b3261e" : "#222");
      const bool left = x > 0.6 * TimeLayout::kWidth;
      canvas.Add(R"(<text x="{:.1f}" y="{:.1f}" font-size="11" text-anchor="{}">{}</text>)", x + (left ? -9 : 9), y + 8,
                 left ? "end" : "start",
                 Escaped(fmt::format("{}: margin {:+.3f} {}, {}", rule.broken() ? "BROKEN" : "kept", *rule.margin,
                                     UnitOf(rule.rule), rule.what)));
    }
    y += TimeLayout::kLane;
  }
  DrawTimeAxis(&canvas, y);
  return canvas.Close(y + 34);
}

}  // namespace dryrig
