#include <fmt/format.h>

#include "bench/context.h"
#include "bench/out_folder.h"
#include "bench/outside_options.h"
#include "bench/program.h"
#include "bench/verdict.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

struct GateOptions {
  std::string baseline, results, reason, junit, markdown;
  OutsideChoice outside;
  bool accept = false;
};

struct Results {
  std::vector<TakeScores> takes;
  std::string suite;
  std::vector<HardLimit> limits;
  std::string context;
};

/// A results folder of `compare`; its suite.yaml, where it has one, names suite and limits.
Results ReadResults(const std::string& folder) {
  const fs::path path(folder);
  if (!fs::is_directory(path)) throw InputError(fmt::format("{} is no folder; name one that `dryrig compare` wrote", folder));
  Results out;
  const Store store(path / "results.db", Store::Mode::kRead);
  for (const int64_t id : store.TakeIds()) out.takes.push_back({store.ReadIdentity(id), store.ReadScores(id)});
  if (out.takes.empty()) throw RunError(fmt::format("{} holds no take; run `dryrig compare` to its end first", folder));
  out.context = store.ReadContext();
  out.suite = "none";
  if (fs::exists(path / "suite.yaml")) {
    const std::string text = ReadTextFile(path / "suite.yaml");
    const Suite suite = ParseSuite(text, (path / "suite.yaml").string());
    out.suite = suite.title;
    out.limits = suite.limits;
  }
  return out;
}

int RunGate(const GateOptions& options) {
  options.outside.Load({});
  const Results results = ReadResults(options.results);
  if (options.accept) {
    if (options.reason.empty()) throw InputError("a baseline says why it was accepted; give --reason \"...\"");
    WriteFile(options.baseline, ToText(MakeBaseline(results.takes, results.suite, options.reason, results.context)));
    fmt::print("{}: {} takes of suite \"{}\" are the baseline now. Keep it under version control.\n", options.baseline,
               results.takes.size(), results.suite);
    return kFine;
  }
  if (!fs::exists(options.baseline)) {
    throw RunError(fmt::format("{}: no baseline; make one with `dryrig gate {} {} --accept --reason \"...\"`", options.baseline,
                               options.baseline, options.results));
  }
  const Baseline before = ParseBaseline(ReadTextFile(options.baseline, size_t{64} << 20), options.baseline);
  const Baseline now = MakeBaseline(results.takes, results.suite, "", results.context);
  const Verdict verdict = Judge(before, now, results.limits);
  fmt::print("{}{}\n", ToText(verdict, before), kCaution);
  if (!options.junit.empty()) WriteFile(options.junit, ToJUnit(verdict, before, HereAndNow()));
  if (!options.markdown.empty()) WriteFile(options.markdown, ToMarkdown(verdict, before));
  return verdict.failed() ? kVerdictNo : kFine;
}

}  // namespace

void AddGate(CommandTable& program) {
  auto options = std::make_shared<GateOptions>();
  const Command command = program.Add("gate", "Compare results with an accepted baseline; fail where anything is worse.");
  command.Add("baseline", options->baseline, "Baseline file; --accept writes it").Required();
  command.Add("results", options->results, "Folder that compare wrote").Required();
  command.Flag("--accept", options->accept, "Make these results the baseline");
  command.Add("--reason", options->reason, "Why they are accepted; stands in the file");
  command.Add("--junit", options->junit, "Write the checks as JUnit XML");
  command.Add("--markdown", options->markdown, "Write a summary as Markdown");
  options->outside.AddTo(command);
  command.Footer(
      "Exit codes: 0 no worse, 1 worse or a limit broken, 2 bad input, 3 not comparable or no baseline.\n"
      "Example:\n"
      "  dryrig compare smoke --out out/smoke\n"
      "  dryrig gate smoke.baseline out/smoke --accept --reason \"first\"\n"
      "  dryrig gate smoke.baseline out/smoke --junit out/gate.xml --markdown out/gate.md");
  command.Run([options] { return RunGate(*options); });
}

}  // namespace dryrig
