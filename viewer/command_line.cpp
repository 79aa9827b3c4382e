#include "viewer/command_line.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <cmath>

#include "policies/outside/outside_policy.h"
#include "scenes/error.h"
#include "viewer/policy_file.h"

namespace dryrig {

namespace {

constexpr int kLeast_px = 320, kMost_px = 16384;

/// `1280x720`.
void ParseSize(const std::string& text, ViewOptions* out) {
  const char* end = text.data() + text.size();
  const auto width = std::from_chars(text.data(), end, out->width);
  const bool cross = width.ec == std::errc() && width.ptr != end && *width.ptr == 'x';
  const auto height =
      cross ? std::from_chars(width.ptr + 1, end, out->height) : std::from_chars_result{end, std::errc::invalid_argument};
  const auto in_range = [](int n) { return n >= kLeast_px && n <= kMost_px; };
  if (height.ec != std::errc() || height.ptr != end || !in_range(out->width) || !in_range(out->height)) {
    throw InputError(fmt::format("--size \"{}\": expected WIDTHxHEIGHT in pixels, each from {} to {}, such as 1280x720", text,
                                 kLeast_px, kMost_px));
  }
}

/// Libraries' policies run in processes of `dryrig`, which stands beside this program where both are installed, and in a folder
/// beside its own where they were built.
std::string HostProgram() {
  namespace fs = std::filesystem;
  std::error_code error;
  const fs::path folder = fs::read_symlink("/proc/self/exe", error).parent_path();
  const fs::path installed = folder / "dryrig", built = folder.parent_path() / "bench" / "dryrig";
  return (fs::is_regular_file(installed, error) ? installed : built).string();
}

PolicyChoice ParsePolicy(const std::string& text) {
  if (std::filesystem::path(text).extension() == ".policy") return ReadPolicyFile(text);
  PolicyChoice policy = ParsePolicyChoice(text);
  FindPolicy(policy.name).make(policy.values);
  return policy;
}

}  // namespace

ParsedView ParseView(int argc, const char* const* argv) {
  ParsedView out;
  ViewOptions& options = out.options;
  std::string policy, compare, size, screenshot;
  std::vector<std::string> libraries;
  bool no_settings = false;
  CLI::App program(
      "Shows a take in a window: the room, what the lens saw, when and why it was weak; films it again with other parameters.",
      "dryrig-view");
  program.add_option(
      "what", options.what,
      "A lesson (file or shipped name), a recording (.bvh, .csv), a take (FILE.db, FILE.db:ID) or a results folder");
  program.add_option("--captions", options.captions, "What is said in a recording: .vtt or .srt");
  program.add_option("--policy,-p", policy,
                     "Films a lesson; also NAME:key=value,key=value or a saved .policy file; default: planner");
  program.add_option("--compare", compare, "A second policy, shown in step");
  program.add_option("--policy-library", libraries, "Library (.so) with policies of your own; may be repeated")
      ->allow_extra_args(false);
  program.add_option("--at", options.at_s, "Where the cursor stands at first, seconds");
  program.add_option("--screenshot", screenshot, "Writes a picture of the whole window to this PNG file and ends");
  program.add_option("--size", size, "Window size in pixels, WIDTHxHEIGHT; default: as last time, at first 1280x720");
  program.add_option("--scale", options.scale, "Pixels a unit of text and controls, 0.5 to 4; default: the display's");
  program.add_flag("--no-settings", no_settings, "Neither reads nor keeps settings");
  program.footer(
      "Examples:\n"
      "  dryrig view booklet\n"
      "  dryrig view booklet --policy planner --compare follow\n"
      "  dryrig view motion.bvh --captions words.vtt --policy follow\n"
      "  dryrig view out/one/results.db --at 12.5 --screenshot out/view.png\n"
      "Exit codes: 0 fine, 2 bad input or usage, 3 could not be done (no display, no OpenGL 3.3).");
  try {
    program.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() != 0) throw InputError(fmt::format("{}; `dryrig view --help` tells more", error.what()));
    out.exit_code = 0;
    out.text = program.help();
    return out;
  }
  OutsideOptions outside;
  outside.program = HostProgram();
  for (const std::string& file : libraries) AddPolicyLibrary(file, outside);
  if (!policy.empty()) options.policy = ParsePolicy(policy);
  if (!compare.empty()) options.compare = ParsePolicy(compare);
  if (!size.empty()) ParseSize(size, &options);
  if (!std::isfinite(options.at_s) || options.at_s < 0) {
    throw InputError(fmt::format("--at {}: expected seconds from the start, 0 or more", options.at_s));
  }
  if (options.scale != 0 && !(options.scale >= 0.5 && options.scale <= 4)) {
    throw InputError(fmt::format("--scale {} is outside [0.5, 4]", options.scale));
  }
  if (options.compare && options.what.empty()) throw InputError("--compare needs a lesson or take to compare on");
  options.screenshot = screenshot;
  options.settings = !no_settings;
  return out;
}

}  // namespace dryrig
