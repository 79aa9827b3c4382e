#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "policies/choice.h"

namespace dryrig {

/// What `dryrig-view` was asked for.
struct ViewOptions {
  std::string what;                     // lesson, take or results folder; empty: nothing yet
  std::string captions;                 // of a bare recording; empty: none
  std::optional<PolicyChoice> policy;   // films a lesson
  std::optional<PolicyChoice> compare;  // films it a second time
  double at_s = 0;
  std::filesystem::path screenshot;  // empty: stay open
  int width = 0, height = 0;         // pixels; 0: as last time
  double scale = 0;                  // pixels a unit; 0: the display's
  bool settings = true;              // read and kept
};

/// What main does next: run the window, or leave at once with `exit_code`, having written `text`.
struct ParsedView {
  ViewOptions options;
  std::optional<int> exit_code;
  std::string text;
};
/// @throws InputError for what is no such command line.
ParsedView ParseView(int argc, const char* const* argv);

}  // namespace dryrig
