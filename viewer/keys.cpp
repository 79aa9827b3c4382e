#include "viewer/keys.h"

#define GLFW_INCLUDE_NONE
#include <GLFW/glfw3.h>

#include <array>

namespace dryrig {

namespace {

using enum TransportKey;
constexpr int kShift = GLFW_MOD_SHIFT, kControl = GLFW_MOD_CONTROL;

constexpr std::array kTable{
    KeyBinding{GLFW_KEY_SPACE, 0, 0, kPlayOrStop, "Space", "play, stop"},
    KeyBinding{GLFW_KEY_L, 0, 0, kForward, "L", "play forwards; again: 2, 4, 8 times as fast"},
    KeyBinding{GLFW_KEY_J, 0, 0, kBack, "J", "play backwards; again: 2, 4, 8 times as fast"},
    KeyBinding{GLFW_KEY_K, 0, 0, kStop, "K", "stop; held with J or L: slow motion, a quarter of the speed"},
    KeyBinding{GLFW_KEY_LEFT, 0, 0, kFrameBack, "Left", "one frame back"},
    KeyBinding{GLFW_KEY_RIGHT, 0, 0, kFrameForward, "Right", "one frame on"},
    KeyBinding{GLFW_KEY_LEFT, 0, kShift, kSecondBack, "Shift+Left", "one second back"},
    KeyBinding{GLFW_KEY_RIGHT, 0, kShift, kSecondForward, "Shift+Right", "one second on"},
    KeyBinding{GLFW_KEY_HOME, 0, 0, kStart, "Home", "to the start"},
    KeyBinding{GLFW_KEY_END, 0, 0, kEnd, "End", "to the end"},
    KeyBinding{0, U'[', 0, kBeatBack, "[", "to the beat before"},
    KeyBinding{0, U']', 0, kBeatForward, "]", "to the next beat"},
    KeyBinding{GLFW_KEY_W, 0, 0, Command::kWorst, "W", "to the worst moment of the first plot; again: of the next one"},
    KeyBinding{GLFW_KEY_R, 0, 0, Command::kBackToOne, "R", "back to one: film again with the parameters as set"},
    KeyBinding{GLFW_KEY_B, 0, 0, Command::kKeepAsSecond, "B", "keep this take as B, to compare; again: close B"},
    KeyBinding{GLFW_KEY_ESCAPE, 0, 0, Command::kCancel, "Esc", "close what is in front, else cancel the filming"},
    KeyBinding{GLFW_KEY_O, 0, kControl, Command::kOpen, "Ctrl+O, O", "open a lesson, a take, results or parameters"},
    KeyBinding{GLFW_KEY_O, 0, 0, Command::kOpen, "", ""},
    KeyBinding{GLFW_KEY_T, 0, 0, Command::kThirds, "T", "lines at the thirds of the lens picture"},
    KeyBinding{GLFW_KEY_A, 0, 0, Command::kSafeArea, "A", "safe area of the lens picture"},
    KeyBinding{GLFW_KEY_S, 0, 0, Command::kSightLines, "S", "lines of sight to the subject, in both views"},
    KeyBinding{GLFW_KEY_C, 0, 0, Command::kClearance, "C", "nearest pair of robot and person, in the room"},
    KeyBinding{GLFW_KEY_V, 0, 0, Command::kResetView, "V", "the room as first seen"},
    KeyBinding{0, U'+', 0, Command::kLargerText, "+", "larger text"},
    KeyBinding{0, U'-', 0, Command::kSmallerText, "-", "smaller text"},
    KeyBinding{GLFW_KEY_F1, 0, 0, Command::kHelp, "F1, ?", "these keys"},
    KeyBinding{0, U'?', 0, Command::kHelp, "", ""},
    KeyBinding{GLFW_KEY_Q, 0, kControl, Command::kQuit, "Ctrl+Q", "close the window"},
};

bool Held(const KeyBinding& binding) {
  const auto* key = std::get_if<TransportKey>(&binding.does);
  return key != nullptr && (*key == kBack || *key == kStop || *key == kForward);
}

}  // namespace

std::span<const KeyBinding> KeyTable() {
  return kTable;
}

const KeyBinding* FindKey(int key, int mods) {
  if (key <= 0) return nullptr;
  for (const KeyBinding& binding : kTable) {
    if (binding.key == key && (binding.mods == (mods & (kShift | kControl)) || Held(binding))) return &binding;
  }
  return nullptr;
}

const KeyBinding* FindTyped(char32_t typed) {
  if (typed == 0) return nullptr;
  for (const KeyBinding& binding : kTable) {
    if (binding.key == 0 && binding.typed == typed) return &binding;
  }
  return nullptr;
}

}  // namespace dryrig
