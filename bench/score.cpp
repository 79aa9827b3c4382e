#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "bench/context.h"
#include "bench/outside_options.h"
#include "bench/program.h"
#include "bench/score_log.h"
#include "bench/scorecard.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

struct ScoreOptions {
  std::string take;
  LogChoice log;
  OutsideChoice outside;
  bool json = false;
};

int RunScore(ScoreOptions options) {
  options.outside.Load({});
  if (!options.log.log.empty()) {
    if (!options.take.empty()) throw InputError("a stored take and --log do not go together");
    options.log.json = options.json;
    return ScoreLog(options.log);
  }
  if (options.take.empty())
    throw InputError("say which take is to be scored: a folder or FILE.db, or --log FILE for one recorded on a set");
  const TakeRef ref = ParseTakeRef(options.take);
  const Store store(ref.db, Store::Mode::kRead);
  const Take take = store.ReadTake(ref.id);
  const std::vector<StoredScore> scores = ToStored(ScoreTake(take));
  if (options.json) {
    fmt::print("{}\n", ScorecardJson(take.id, store.ReadInputs(ref.id), scores).dump(2));
  } else {
    fmt::print("{}\n{}\n", ScorecardTable(take.id, scores), kCaution);
  }
  const std::vector<std::string> differences = Differences(store.ReadScores(ref.id), scores);
  if (differences.empty()) {
    fmt::print(stderr, "dryrig: equal to the stored scorecard to the last digit\n");
    return kFine;
  }
  fmt::print(stderr, "dryrig: the stored scorecard differs; it was made by {}, this is {}\n",
             ToLine(ReadBuildContext(store.ReadContext())), ToLine(ThisBuild()));
  for (const std::string& line : differences) fmt::print(stderr, "  {}\n", line);
  return kNotDone;
}

}  // namespace

void AddScore(CommandTable& program) {
  auto options = std::make_shared<ScoreOptions>();
  const Command command = program.Add(
      "score", "Score a stored take again and compare with the stored scorecard, or score what was recorded on a set.");
  command.Add("take", options->take, "A folder or FILE.db, with :ID after it where there are several takes");
  LogChoice& log = options->log;
  command.Add("--log", log.log, "The arm's joints as recorded on a set, a CSV; makes a take of them, with:");
  command.Add("--track", log.track, "The person as recorded: .csv (pose track) or .bvh, in the room's frame");
  command.Add("--camera-track", log.camera_track, "The camera as tracked from outside, a CSV on the person's track's clock");
  command.Add("--captions", log.captions, "What was said: .vtt or .srt");
  command.Add("--lesson", log.lesson, "The lesson that was rehearsed: its props and its key");
  command.Add("--arm", log.arm, "Arm file or name");
  command.Add("--bench", log.bench, "Bench file or name");
  command.Add("--camera", log.camera, "Camera file or name");
  command.Add("--person", log.person, "Who it was; default: the shipped one nearest in stature");
  const CommandOption begins = command.Add("--begins-s", log.begins_s, "When the lesson began, on the track's clock");
  command.Add("--out,-o", log.out, "Folder for the take");
  command.Flag("--force", log.force, "Replace results that are in --out");
  command.Flag("--json", options->json, "Print the scorecard as JSON");
  options->outside.AddTo(command);
  command.Footer(
      "Exit 3 if a number differs, as after a change of a metric.\n"
      "A log has the columns t_s, JOINT_position_rad and, if there are any, JOINT_commanded_rad (_deg; _m, _mm), focal_mm, "
      "focus_m.\n"
      "Examples:\n"
      "  dryrig score out/one\n"
      "  dryrig score --log joints.csv --track person.csv --arm heron --bench study-table --camera prime --lesson booklet --out "
      "out/real");
  command.Run([options, begins] {
    options->log.begins_given = begins.given();
    return RunScore(*options);
  });
}

}  // namespace dryrig
