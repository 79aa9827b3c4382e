#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// Film terms. Their numbers stand in one table, shot.cpp.
enum class ShotSize { kWide, kMedium, kCloseUp, kExtremeCloseUp };
enum class ShotAngle { kEyeLevel, kHighAngle, kOverhead };
enum class Composition { kCentre, kUpperLeft, kUpperRight, kLowerLeft, kLowerRight };  // centre or a thirds intersection
enum class SubjectKind { kFace, kHands, kProp, kBench, kTip };

struct Subject {
  SubjectKind kind = SubjectKind::kHands;
  std::string prop;  // its name, for kProp and kTip alone
  bool operator==(const Subject&) const = default;
};

/// What a good operator would film, or a policy believes it films: subjects framed as one. Never empty in valid data.
struct Shot {
  std::vector<Subject> subjects{Subject{}};
  ShotSize size = ShotSize::kMedium;
  ShotAngle angle = ShotAngle::kHighAngle;
  Composition composition = Composition::kCentre;
  bool operator==(const Shot&) const = default;
};

/// Height that the subject's extent takes of the frame's height, for this size; of several subjects the largest.
double WantedFrameHeights(const Shot& shot);
/// Camera above the subject's horizon, radians: eye level 0, high angle 45°, overhead 90° (common practice).
double WantedElevation_rad(ShotAngle angle);
/// Composition point from the frame's centre, in frame heights, x right, y down, for an image `aspect` times as wide as high.
struct FramePoint { double x, y; };
FramePoint CompositionPoint(Composition composition, double aspect);

/// Words as lessons spell them: `close-up`, `eye-level`, `prop:awl`, `tip:awl`, `upper-left`.
std::string_view ToString(ShotSize size);
std::string_view ToString(ShotAngle angle);
std::string_view ToString(Composition composition);
std::string ToString(const Subject& subject);
/// `close-up of hands, high-angle`.
std::string ToString(const Shot& shot);
/// Inverse of ToString. @throws InputError with the nearest word.
ShotSize ParseShotSize(std::string_view word);
ShotAngle ParseShotAngle(std::string_view word);
Composition ParseComposition(std::string_view word);
Subject ParseSubject(std::string_view word);

}  // namespace dryrig
