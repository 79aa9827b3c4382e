#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "viewer/render/view.h"

namespace dryrig {

/// What the window keeps between runs.
struct Settings {
  int width = 1280, height = 720;  // of the window, before scaling, [640, 16384]
  double text_scale = 1;           // on top of the display's own, [0.75, 3]
  bool thirds = true, safe_area = true, sight_lines = true, clearance = true, shadows = true;
  Orbit orbit;
  std::vector<std::string> plotted{"framing_error", "closest_approach"};  // metrics on the time line
  std::vector<std::string> recent;                                        // newest first, what was opened
};

/// Puts `what` first; each is there once, 12 at most.
void Remember(Settings* settings, const std::string& what);

/// `dryrig/viewer.json` in $XDG_CONFIG_HOME, else in ~/.config; empty where the user has no home.
std::filesystem::path SettingsFile();

struct LoadedSettings {
  Settings settings;
  std::string note;  // not empty: the file could not be used, and why
};
/// Defaults where the file is missing; also where it is no settings of ours, with a note. Values out of range are drawn inside.
LoadedSettings LoadSettings(const std::filesystem::path& file);
/// Whole or not at all. Returns why not, or nothing.
std::string SaveSettings(const Settings& settings, const std::filesystem::path& file);

}  // namespace dryrig
