#include <fmt/format.h>

#include <charconv>
#include <nlohmann/json.hpp>

#include "bench/code_id.h"
#include "bench/context.h"
#include "bench/one_take.h"
#include "bench/out_folder.h"
#include "bench/outside_options.h"
#include "bench/param_file.h"
#include "bench/pictures.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "policies/choice.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

struct TakeOptions {
  TakeChoice choice;
  std::string policy, params;
  std::vector<std::string> set;
  std::vector<std::string> package_paths;
  OutsideChoice outside;
  std::string out;
  bool json = false, force = false, contact_sheet = false;
};

/// CLI11 would wrap -1 and what is beyond 64 bits around without a word.
std::string CheckSeed(const std::string& text) {
  uint64_t seed = 0;
  const auto parsed = std::from_chars(text.data(), text.data() + text.size(), seed);
  const bool whole = parsed.ec == std::errc() && parsed.ptr == text.data() + text.size();
  return whole ? "" : fmt::format("{} is no whole number from 0 to {}", text, UINT64_MAX);
}

int RunTakeCommand(TakeOptions options) {
  TakeChoice& choice = options.choice;
  options.outside.Load({options.policy});
  choice.policy = StartFrom(options.params, options.policy, options.outside);
  ParamValues set;
  for (const std::string& text : options.set) ParseParam(text, &set);
  for (const auto& [key, value] : set) {
    const bool twice = !choice.policy.values.insert_or_assign(key, value).second;
    if (twice && options.params.empty()) throw InputError(fmt::format("parameter {} is set twice", key));
  }
  SceneShelf shelf({{options.package_paths.begin(), options.package_paths.end()}});
  choice = WithDefaults(choice, shelf);
  const PreparedTake prepared = Prepare(choice, shelf);
  OutFolder out(options.out);
  if (fs::exists(out.Database()) && !options.force) {
    throw InputError(
        fmt::format("{} holds results already; choose another --out, or --force to replace them", out.path().string()));
  }

  const std::unique_ptr<Policy> policy = prepared.MakePolicy();
  const Take take = RunTake(prepared.setup, *policy);
  const Scorecard card = ScoreTake(take);
  const std::vector<StoredScore> scores = ToStored(card);
  const std::vector<StoredInput> inputs = InputsOf(prepared.setup);
  const std::string json = ScorecardJson(take.id, inputs, scores).dump(2) + "\n";
  WriteOneTake(&out, take, card, inputs, json, CodeOf(take.id.policy));
  for (const std::string& note : prepared.setup.stage.arm.notes) fmt::print(stderr, "note: {}\n", note);
  if (const TakeSetup& setup = prepared.setup; setup.lesson.recorded) {
    const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
    for (const std::string& note : performance.notes()) fmt::print(stderr, "note: {}\n", note);
  }
  if (options.json) {
    fmt::print("{}", json);
  } else {
    fmt::print("{}\nThe whole take is in {} (results.db, scorecard.json, timeline.svg).\n{}\n", ScorecardTable(take.id, scores),
               out.path().string(), kCaution);
  }
  if (options.contact_sheet) {
    // Last: what cannot be drawn costs nothing of the rest.
    const fs::path sheet = out.path() / "contact-sheet.png";
    WriteContactSheet(take, sheet);
    fmt::print(stderr, "dryrig: the contact sheet is {}\n", sheet.string());
  }
  return kFine;
}

}  // namespace

void AddTake(CommandTable& program) {
  auto options = std::make_shared<TakeOptions>();
  TakeChoice& choice = options->choice;
  const Command command = program.Add("take", "Film one lesson with one policy and score it.");
  command.Add("lesson", choice.lesson, "A lesson file, a shipped lesson's name, or a recording (.bvh, .csv)").Required();
  command.Add("--captions", choice.captions, "What is said in a recording: .vtt or .srt");
  command.Add("--policy,-p", options->policy, "Policy, also as NAME:key=value,key=value; NAME may be python:FILE.py:CLASS");
  command.Add("--params", options->params, "File of a policy's parameters, as dryrig tune writes it; --policy may be left out");
  command.Add("--out,-o", options->out, "Folder for the results; nothing is written elsewhere").Required();
  command.Add("--arm", choice.arm, "Arm file (.yaml or .urdf) or name; default: the first shipped");
  command.Add("--bench", choice.bench, "Bench file or name; default: the lesson's");
  command.Add("--person", choice.person, "Person file or name; default: the lesson's");
  command.Add("--camera", choice.camera, "Camera file or name; default: the first prime shipped");
  command.Add("--sensing", choice.sensing, "Sensing file or name, also as NAME:key=value,key=value; default: good");
  command.Add("--seed", choice.seed, "Seed of the performance and the sensors").Check(CheckSeed).ShowDefault();
  command.Add("--physics-hz", choice.physics_hz, "Physics rate, a whole multiple of control and frame rate, 120 to 1000")
      .ShowDefault();
  command.Add("--set", options->set, "Policy parameter key=value; may be repeated");
  options->outside.AddTo(command);
  command.Add("--package-path", options->package_paths, "Folder that package:// meshes are searched in; may be repeated");
  command.Flag("--json", options->json, "Print the scorecard as JSON");
  command.Flag("--contact-sheet", options->contact_sheet, "Draw lens frames through the lesson into contact-sheet.png");
  command.Flag("--force", options->force, "Replace results that are in --out");
  command.Footer(
      "Examples:\n"
      "  dryrig take booklet --policy planner --out out/one\n"
      "  dryrig take my-lesson.yaml --policy follow --set dead_band=0.1 --person ellis --sensing poor --out out/two --json");
  command.Run([options] { return RunTakeCommand(*options); });
}

}  // namespace dryrig
