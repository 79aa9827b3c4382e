#pragma once

#include <imgui.h>

#include "viewer/desk.h"
#include "viewer/render/view.h"

namespace dryrig {

/// What is drawn over a lens picture that fills `picture`.
void DrawThirds(const Desk& desk, ImDrawList* draw, const Rect& picture);
void DrawSafeArea(const Desk& desk, ImDrawList* draw, const Rect& picture);
/// The subject's sample points as the lens has them: rings are clear, crosses blocked, pointers at the edge outside. And where
/// the subject's centre (diamond) ought to be (corner marks).
void DrawSight(const Desk& desk, ImDrawList* draw, const Rect& picture, const Take& take, const TakeFrame& frame,
               const SightReport& sight, const Shot& shot);

/// What is drawn over the room: lines of sight, full where clear, dashed with a cross at the sample where blocked; and the
/// nearest pair, with its distance and what of the protective distance is missing.
void DrawSightLines(const Desk& desk, ImDrawList* draw, const Rect& picture, const View& view, const TakeFrame& frame,
                    const SightReport& sight);
/// Where the room is first seen from: of a few places the one from which the arm's base stands least before the instructor.
Orbit FirstOrbit(const Take& take);
void DrawNearest(const Desk& desk, ImDrawList* draw, const Rect& picture, const View& view, const Nearness& near);

}  // namespace dryrig
