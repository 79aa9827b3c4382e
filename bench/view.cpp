#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>

#include "bench/program.h"
#include "scenes/error.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

/// The window is a program of its own, so that this one needs no display and no graphics driver. It stands beside this program
/// where both are installed, and beside its folder where they were built.
fs::path FindWindowProgram() {
  std::error_code error;
  const fs::path folder = fs::read_symlink("/proc/self/exe", error).parent_path();
  const std::array places{folder / "dryrig-view", folder.parent_path() / "viewer" / "dryrig-view"};
  for (const fs::path& place : places) {
    if (access(place.c_str(), X_OK) == 0) return place;
  }
  throw RunError(fmt::format("the window's program is neither {} nor {}; build the target dryrig-view, or install it there",
                             places[0].string(), places[1].string()));
}

/// Becomes the window's program with these arguments; comes back only by throwing.
[[noreturn]] void Become(const fs::path& program, const std::vector<std::string>& arguments) {
  std::vector<std::string> texts{program.string()};
  texts.insert(texts.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (std::string& text : texts) argv.push_back(text.data());
  argv.push_back(nullptr);
  std::fflush(nullptr);
  execv(program.c_str(), argv.data());
  throw RunError(fmt::format("{} does not start: {}", program.string(), std::strerror(errno)));
}

}  // namespace

void AddView(CommandTable& program) {
  const Command command = program.Add("view", "Show a take in a window: what the lens saw, when and why it was weak.");
  command.LeaveTheRest();  // it is the window's own command line
  command.Run([command]() -> int { Become(FindWindowProgram(), command.rest()); });
}

}  // namespace dryrig
