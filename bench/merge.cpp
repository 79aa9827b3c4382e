#include <fmt/format.h>

#include "bench/comparison.h"
#include "bench/context.h"
#include "bench/out_folder.h"
#include "bench/program.h"
#include "scenes/error.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

struct MergeOptions {
  std::vector<std::string> parts;
  std::string into;
};

fs::path DatabaseOf(const fs::path& part) {
  return fs::is_directory(part) ? part / "results.db" : part;
}

/// The suite that the parts were shards of; empty: they name none. @throws InputError if they name several.
std::string SuiteTextOf(const std::vector<std::string>& parts) {
  std::string text, from;
  for (const std::string& part : parts) {
    const fs::path file = DatabaseOf(part).parent_path() / "suite.yaml";
    if (!fs::exists(file)) continue;
    const std::string now = ReadTextFile(file);
    if (!from.empty() && now != text) throw InputError(fmt::format("{} and {} are of different suites", from, file.string()));
    text = now, from = file.string();
  }
  return text;
}

int RunMerge(const MergeOptions& options) {
  const std::string suite = SuiteTextOf(options.parts);
  std::string context;
  for (const std::string& part : options.parts) {
    const Store store(DatabaseOf(part), Store::Mode::kRead);
    const std::string theirs = store.ReadContext();
    if (!context.empty() && !(ReadBuildContext(theirs) == ReadBuildContext(context))) {
      throw RunError(fmt::format("{} was made by {}, {} by {}: parts of different builds are not merged", options.parts.front(),
                                 ToLine(ReadBuildContext(context)), part, ToLine(ReadBuildContext(theirs))));
    }
    if (context.empty()) context = theirs;
  }
  OutFolder out(options.into);
  if (fs::exists(out.Database())) {
    throw InputError(fmt::format("{} holds results already; choose another --into", out.path().string()));
  }
  out.Open();
  // Built beside and moved into place: a merge that is cut off leaves nothing that looks whole.
  const fs::path unfinished = out.path() / "merging.db";
  fs::remove(unfinished);
  std::vector<TakeScores> takes;
  try {
    Store(unfinished, Store::Mode::kCreate).WriteContext(context);
    for (const std::string& part : options.parts) {
      const size_t copied = AbsorbStore(unfinished, DatabaseOf(part));
      fmt::print("{}: {} takes\n", part, copied);
    }
    Store store(unfinished, Store::Mode::kAppend);
    store.Compact();
    for (const int64_t id : store.TakeIds()) takes.push_back({store.ReadIdentity(id), store.ReadScores(id)});
  } catch (...) {
    fs::remove(unfinished);
    throw;
  }
  fs::rename(unfinished, out.Database());
  out.Write("results.csv", ResultsCsv(takes));
  if (!suite.empty()) out.Write("suite.yaml", suite);
  fmt::print("{} takes are in {}.\n", takes.size(), out.path().string());
  return kFine;
}

}  // namespace

void AddMerge(CommandTable& program) {
  auto options = std::make_shared<MergeOptions>();
  const Command command = program.Add("merge", "Put the results of several runs, such as shards, into one.");
  command.Add("parts", options->parts, "Folders that compare wrote, or their results.db").Required();
  command.Add("--into", options->into, "Folder for the whole; nothing is written elsewhere").Required();
  command.Footer(
      "Example:\n"
      "  dryrig compare smoke --shard 1/2 --out out/a\n"
      "  dryrig compare smoke --shard 2/2 --out out/b\n"
      "  dryrig merge out/a out/b --into out/smoke");
  command.Run([options] { return RunMerge(*options); });
}

}  // namespace dryrig
