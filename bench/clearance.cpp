#include <fmt/format.h>

#include <nlohmann/json.hpp>
#include <optional>

#include "bench/clearance_text.h"
#include "bench/context.h"
#include "bench/out_folder.h"
#include "bench/program.h"
#include "bench/text_table.h"
#include "policies/stored_take.h"
#include "scenes/error.h"
#include "viewer/render/pair_picture.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

struct ClearanceOptions {
  std::string take, profile = "contact-limited", arm, out;
  bool json = false;
};

struct Studied {
  Take take;
  ClearanceStudy study;
};

/// A stored take's study; one whose series were not kept is filmed again.
Studied StudyStored(const Store& store, int64_t id, const std::string& arm, const Profile& profile) {
  const PreparedTake prepared = PrepareStored(store, id, arm);
  const TakeSetup& setup = prepared.setup;
  Studied out;
  if (store.HasSeries(id)) {
    out.take = store.ReadTake(id);
  } else {
    const std::unique_ptr<Policy> policy = prepared.MakePolicy();
    out.take = RunTake(setup, *policy);
  }
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  // What struck with how much is told of the arm as it was.
  const ArmModel arm_as_it_was = LoadedArm(setup.stage.arm, setup.stage.camera, setup.faults.payload_kg);
  out.study = StudyClearance(TakeMotion(out.take, arm_as_it_was, performance), profile);
  return out;
}

/// What the picture shows: the enforced rule that is broken most, else the nearest moment.
PairMoment WorstMoment(const ClearanceStudy& study) {
  for (const RuleResult& rule : study.rules) {
    if (rule.enforced && rule.broken() && rule.moment) return *rule.moment;
  }
  return study.nearest;
}

void WriteStudy(const OutFolder& out, const std::string& stem, const Profile& profile, const Studied& studied) {
  out.Write(stem + ".json", ClearanceJson(studied.take, profile, studied.study).dump(2) + "\n");
  out.Write(stem + ".svg", ClearanceSvg(studied.take, profile, studied.study));
  const PairMoment worst = WorstMoment(studied.study);
  WritePng(DrawPair(studied.take, {worst.t_s, worst.arm_body, worst.capsule, worst.p_WArm, worst.p_WPerson},
                    fmt::format("{} · {} · {:.2f} s · {} · {:.3f} m · {} under {} · no risk assessment", studied.take.id.lesson,
                                studied.take.id.policy, worst.t_s, PairText(studied.take, worst), worst.distance_m,
                                studied.study.allowed() ? "allowed" : "NOT ALLOWED", profile.name)),
           out.path() / (stem + ".png"));
}

/// Takes to study: the one named, or all of a store.
struct Takes {
  fs::path db;
  std::vector<int64_t> ids;
};
Takes TakesOf(const std::string& text) {
  const fs::path path(text), db = fs::is_directory(path) ? path / "results.db" : path;
  if (fs::exists(db)) return {db, Store(db, Store::Mode::kRead).TakeIds()};
  const TakeRef ref = ParseTakeRef(text);
  return {ref.db, {ref.id}};
}

int RunClearance(const ClearanceOptions& options) {
  const Profile profile = ReadProfile(FindScene(SceneKind::kProfile, options.profile));
  const Takes takes = TakesOf(options.take);
  if (takes.ids.empty()) throw InputError(fmt::format("{} holds no takes", options.take));
  std::optional<OutFolder> out;
  if (!options.out.empty()) {
    out.emplace(options.out);
    out->Open();
  }
  const Store store(takes.db, Store::Mode::kRead);
  const bool one = takes.ids.size() == 1;
  bool allowed = true;
  nlohmann::ordered_json all = nlohmann::ordered_json::array();
  TextTable table({TextTable::Align::kRight, TextTable::Align::kLeft, TextTable::Align::kLeft, TextTable::Align::kLeft,
                   TextTable::Align::kRight, TextTable::Align::kLeft, TextTable::Align::kLeft});
  table.Row({"take", "lesson", "policy", "person", "nearest [m]", "pair", "verdict"});
  table.Rule();
  for (const int64_t id : takes.ids) {
    const Studied studied = StudyStored(store, id, options.arm, profile);
    const ClearanceStudy& study = studied.study;
    allowed = allowed && study.allowed();
    const TakeIdentity& who = studied.take.id;
    table.Row({std::to_string(id), who.lesson, who.policy, who.person, fmt::format("{:.3f}", study.nearest_bound_m),
               PairText(studied.take, study.nearest), VerdictText(study)});
    if (options.json)
      all.push_back(ClearanceJson(studied.take, profile, study));
    else if (one)
      fmt::print("{}", ClearanceText(studied.take, profile, study));
    if (out) WriteStudy(*out, one ? "clearance" : fmt::format("clearance-{}", id), profile, studied);
  }
  if (options.json) {
    fmt::print("{}\n", (one ? all[0] : all).dump(2));
  } else {
    if (!one) fmt::print("profile {}: {}\n\n{}", profile.name, profile.title, table.ToString());
    fmt::print("{}\n", kClearanceCaution);
  }
  return allowed ? kFine : kVerdictNo;
}

}  // namespace

void AddClearance(CommandTable& program) {
  auto options = std::make_shared<ClearanceOptions>();
  const Command command =
      program.Add("clearance", "Judge how near the arm comes to the person: distances, protective separation, contact limits.");
  command.Add("take", options->take, "A folder or FILE.db: all its takes, or with :ID after it one").Required();
  command.Add("--profile", options->profile, "Profile file or name; `dryrig list profiles` tells which ship").ShowDefault();
  command.Add("--arm", options->arm, "The arm's file, where the take was filmed with one that is not shipped");
  command.Add("--out,-o", options->out, "Folder for clearance.json, .svg (distance over time) and .png (worst moment)");
  command.Flag("--json", options->json, "Print JSON");
  command.Footer(
      "Exit 1 where a limit of the profile is broken. A simulation is no risk assessment: the robot's manual, the standards in\n"
      "force, local codes and a qualified person decide.\n"
      "Examples:\n"
      "  dryrig clearance out/one\n"
      "  dryrig clearance out/two:3 --profile separation --out out/two-clearance");
  command.Run([options] { return RunClearance(*options); });
}

}  // namespace dryrig
