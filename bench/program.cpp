#include "bench/program.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "bench/context.h"
#include "policies/outside/host.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr const char* kDescription =
    "Films a lesson with a simulated camera robot and scores the footage and the distance to the person.";
constexpr const char* kFooter =
    "First steps:\n"
    "  dryrig list lessons                                  what is shipped; also policies, metrics, arms, people, ...\n"
    "  dryrig take booklet --policy planner --out out/one   one take: scorecard, time line, all series\n"
    "  dryrig compare booklet seedling --policy follow --policy planner --seeds 3 --out out/two\n"
    "Exit codes: 0 fine, 1 the verdict is no, 2 bad input or usage, 3 could not be done or compared.";

int Fail(ExitCode code, const std::string& message) {
  fmt::print(stderr, "dryrig: {}\n", message);
  return code;
}

/// CLI11 names an unknown command, but not the one that was meant.
void RequireKnownCommand(const CLI::App& program, int argc, const char* const* argv) {
  if (argc < 2 || argv[1][0] == '-') return;
  std::vector<std::string> known;
  for (const CLI::App* command : program.get_subcommands({})) known.push_back(command->get_name());
  if (std::find(known.begin(), known.end(), argv[1]) != known.end()) return;
  throw InputError(fmt::format("no command \"{}\"{}", std::string(argv[1]).substr(0, 64), Suggest(argv[1], known)));
}

}  // namespace

int RunProgram(int argc, const char* const* argv) {
  try {
    if (argc == 3 && std::string_view(argv[1]) == "policy-host") {
      ServeLibrary(argv[2]);
      return kFine;
    }
    CLI::App program(kDescription, "dryrig");
    program.set_version_flag("--version", ToLine(ThisBuild()));
    program.footer(kFooter);
    program.require_subcommand(1);
    CommandTable commands{&program};
    AddTake(commands);
    AddCompare(commands);
    AddGate(commands);
    AddReport(commands);
    AddMerge(commands);
    AddScore(commands);
    AddClearance(commands);
    AddMount(commands);
    AddTune(commands);
    AddExport(commands);
    AddGap(commands);
    AddCheck(commands);
    AddCues(commands);
    AddList(commands);
    AddView(commands);
    if (argc < 2) {
      fmt::print(stderr, "{}", program.help());
      return kBadInput;
    }
    RequireKnownCommand(program, argc, argv);
    try {
      program.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
      if (error.get_exit_code() == 0) return program.exit(error);
      return Fail(kBadInput, fmt::format("{}; `dryrig --help` and `dryrig {} --help` tell more", error.what(), argv[1]));
    }
    return commands.exit_code;
  } catch (const InputError& error) {
    return Fail(kBadInput, error.what());
  } catch (const std::bad_alloc&) {
    return Fail(kNotDone, "out of memory");
  } catch (const std::exception& error) {
    return Fail(kNotDone, error.what());
  }
}

}  // namespace dryrig
