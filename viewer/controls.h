#pragma once

#include <imgui.h>

#include <functional>
#include <string>

#include "viewer/desk.h"

namespace dryrig {

/// A panel of the fixed layout, from its making to its end. Its paper is what the window is cleared to.
class Panel {
 public:
  /// `ground`: fill; `padded` false: the content may touch the edges.
  Panel(Desk& desk, const char* name, const Rect& rect, bool padded = true);
  ~Panel();
  Panel(const Panel&) = delete;
  Panel& operator=(const Panel&) = delete;
};

/// A panel's question in bold; what follows stands on the same line.
void Heading(Desk& desk, const char* text);

/// Controls that note their place under the name that follows ## in their label, or the label.
bool PlacedButton(Desk& desk, const char* label, const ImVec2& size = {0, 0});
/// A small box with a tick and a word. True when it changed.
bool SmallToggle(Desk& desk, const char* label, bool* on, const char* meaning);
/// Notes the last item's rectangle.
void NotePlace(Desk& desk, const std::string& name);
/// Explains the last item when the mouse rests on it.
void Explain(const std::string& text);
/// The rest of the line is this wide.
float RestOfLine();
/// Makes what follows stand at the right end of the line.
void AlignRight(float width);

/// `A` and `B` to choose a slot by, while two takes are open.
void SlotChoice(Desk& desk, const char* name, int* slot);
/// The letter of a slot.
inline const char* LetterOf(int slot) {
  return slot == kFirst ? "A" : "B";
}

}  // namespace dryrig
