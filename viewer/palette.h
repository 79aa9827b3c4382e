#pragma once

#include <imgui.h>

namespace dryrig::palette {

/// Colours that people of all colour vision tell apart: M. Okabe and K. Ito, "Color Universal Design" (2008); values from
/// memory. No meaning hangs on them alone: lines are also dashed, areas hatched, marks shaped.
inline constexpr ImU32 kOrange = IM_COL32(230, 159, 0, 255);
inline constexpr ImU32 kSky = IM_COL32(86, 180, 233, 255);
inline constexpr ImU32 kGreen = IM_COL32(0, 158, 115, 255);
inline constexpr ImU32 kBlue = IM_COL32(0, 114, 178, 255);
inline constexpr ImU32 kVermilion = IM_COL32(213, 94, 0, 255);
inline constexpr ImU32 kPurple = IM_COL32(204, 121, 167, 255);

/// Paper and ink.
inline constexpr ImU32 kInk = IM_COL32(26, 28, 30, 255);
inline constexpr ImU32 kFaintInk = IM_COL32(86, 90, 94, 255);
inline constexpr ImU32 kPaper = IM_COL32(250, 249, 246, 255);
inline constexpr ImU32 kDesk = IM_COL32(226, 225, 221, 255);
inline constexpr ImU32 kLine = IM_COL32(178, 178, 174, 255);
inline constexpr ImU32 kChosenRow = IM_COL32(208, 226, 240, 255);
inline constexpr ImU32 kSurround = IM_COL32(118, 118, 118, 255);  // around pictures: neutral, so that it tints no judgement
inline constexpr ImU32 kWhite = IM_COL32(255, 255, 255, 255);
inline constexpr ImU32 kShade = IM_COL32(0, 0, 0, 170);  // behind marks and words on a picture

/// The first take's and the second's.
inline constexpr ImU32 kTake[2] = {kBlue, kVermilion};

/// Lanes by subject: face, hands, prop, bench. Pale, so that ink is legible on them.
inline constexpr ImU32 kSubject[4] = {IM_COL32(246, 228, 178, 255), IM_COL32(203, 226, 243, 255), IM_COL32(236, 214, 228, 255),
                                      IM_COL32(224, 224, 222, 255)};

}  // namespace dryrig::palette
