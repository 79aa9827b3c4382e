#pragma once

#include <imgui.h>

namespace dryrig {

/// The window's type: DejaVu Sans where Debian's fonts-dejavu-core is installed, else what Dear ImGui brings along.
struct Fonts {
  ImFont *text = nullptr, *bold = nullptr, *small = nullptr, *mono = nullptr;
};
/// Replaces the fonts of the current ImGui context. `scale`: pixels a unit; text is 14 units high.
Fonts LoadFonts(float scale);

/// Colours, borders and roundings of the current ImGui context, sizes times `scale`.
void SetStyle(float scale);

}  // namespace dryrig
