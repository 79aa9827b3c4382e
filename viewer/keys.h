#pragma once

#include <optional>
#include <span>
#include <string_view>
#include <variant>

#include "viewer/transport.h"

namespace dryrig {

/// What a key asks of the window, beyond the transport.
enum class Command {
  kOpen,
  kBackToOne,
  kCancel,
  kKeepAsSecond,
  kWorst,
  kThirds,
  kSafeArea,
  kSightLines,
  kClearance,
  kResetView,
  kLargerText,
  kSmallerText,
  kHelp,
  kQuit,
};

/// One line of the one table of keys, which the window obeys and the help shows.
struct KeyBinding {
  int key = 0;         // GLFW's number; 0: by the character typed, wherever the keyboard has it
  char32_t typed = 0;  // for key 0
  int mods = 0;        // GLFW's bits, of shift and control
  std::variant<TransportKey, Command> does;
  std::string_view keys, meaning;  // for people; empty meaning: another key of the line above
};
std::span<const KeyBinding> KeyTable();

/// The binding of a key, or of a character. Held transport keys answer whatever modifiers are down.
const KeyBinding* FindKey(int key, int mods);
const KeyBinding* FindTyped(char32_t typed);

}  // namespace dryrig
