#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "bench/context.h"
#include "bench/program.h"
#include "bench/scorecard.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

struct ScoreOptions {
  std::string take;
  bool json = false;
};

int RunScore(const ScoreOptions& options) {
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
  const Command command = program.Add("score", "Score a stored take again and compare with the stored scorecard.");
  command.Add("take", options->take, "A folder or FILE.db, with :ID after it where there are several takes").Required();
  command.Flag("--json", options->json, "Print the scorecard as JSON");
  command.Footer(
      "Exit 3 if a number differs, as after a change of a metric.\n"
      "Example:\n  dryrig score out/one");
  command.Run([options] { return RunScore(*options); });
}

}  // namespace dryrig
