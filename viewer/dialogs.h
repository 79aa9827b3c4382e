#pragma once

#include "viewer/desk.h"

namespace dryrig {

/// The inside of each dialog, between its title and its end.
void DrawOpenDialog(Desk& desk);
void DrawSaveDialog(Desk& desk);
void DrawProblemDialog(Desk& desk);
void DrawHelpDialog(Desk& desk);

}  // namespace dryrig
