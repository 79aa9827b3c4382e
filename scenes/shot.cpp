#include "scenes/shot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <numbers>

#include "scenes/error.h"

namespace dryrig {

namespace {

struct SizeRow {
  ShotSize size;
  std::string_view word;
  double face, hands, prop, bench;  // frame heights
};

// Faces follow from the published shares of stature in check tables of shot cut points: a head of 0.13 statures is 0.9 * 0.13/0.47
// of a waist-up frame and 0.9 * 0.13/0.182 of a head-and-shoulders one. Hands, props and bench: common practice.
constexpr std::array kSizes{
    SizeRow{ShotSize::kWide, "wide", 0.12, 0.15, 0.15, 0.60},
    SizeRow{ShotSize::kMedium, "medium", 0.25, 0.30, 0.30, 0.80},
    SizeRow{ShotSize::kCloseUp, "close-up", 0.64, 0.50, 0.50, 1.00},
    SizeRow{ShotSize::kExtremeCloseUp, "extreme-close-up", 1.20, 0.80, 0.80, 1.50},
};

struct AngleRow {
  ShotAngle angle;
  std::string_view word;
  double elevation_deg;
};
constexpr std::array kAngles{
    AngleRow{ShotAngle::kEyeLevel, "eye-level", 0},
    AngleRow{ShotAngle::kHighAngle, "high-angle", 45},
    AngleRow{ShotAngle::kOverhead, "overhead", 90},
};

struct CompositionRow {
  Composition composition;
  std::string_view word;
  double x_sixths, y_sixths;  // of width and height
};
constexpr std::array kCompositions{
    CompositionRow{Composition::kCentre, "centre", 0, 0},
    CompositionRow{Composition::kUpperLeft, "upper-left", -1, -1},
    CompositionRow{Composition::kUpperRight, "upper-right", 1, -1},
    CompositionRow{Composition::kLowerLeft, "lower-left", -1, 1},
    CompositionRow{Composition::kLowerRight, "lower-right", 1, 1},
};

template <class Rows>
auto& RowOf(const Rows& rows, std::string_view what, std::string_view word) {
  std::vector<std::string> words;
  for (const auto& row : rows) {
    if (row.word == word) return row;
    words.emplace_back(row.word);
  }
  throw InputError(fmt::format("no {} \"{}\"{}", what, word.substr(0, 64), Suggest(word, words)));
}

const SizeRow& RowOf(ShotSize size) { return kSizes[static_cast<size_t>(size)]; }

}  // namespace

double WantedFrameHeights(const Shot& shot) {
  const SizeRow& row = RowOf(shot.size);
  double heights = 0;
  for (const Subject& subject : shot.subjects) {
    switch (subject.kind) {
      case SubjectKind::kFace: heights = std::max(heights, row.face); break;
      case SubjectKind::kHands: heights = std::max(heights, row.hands); break;
      case SubjectKind::kProp:
      case SubjectKind::kTip: heights = std::max(heights, row.prop); break;
      case SubjectKind::kBench: heights = std::max(heights, row.bench); break;
    }
  }
  return heights;
}

double WantedElevation_rad(ShotAngle angle) {
  return kAngles[static_cast<size_t>(angle)].elevation_deg * std::numbers::pi / 180;
}

FramePoint CompositionPoint(Composition composition, double aspect) {
  const CompositionRow& row = kCompositions[static_cast<size_t>(composition)];
  return {row.x_sixths * aspect / 6, row.y_sixths / 6};
}

std::string_view ToString(ShotSize size) { return RowOf(size).word; }
std::string_view ToString(ShotAngle angle) { return kAngles[static_cast<size_t>(angle)].word; }
std::string_view ToString(Composition composition) { return kCompositions[static_cast<size_t>(composition)].word; }

std::string ToString(const Subject& subject) {
  switch (subject.kind) {
    case SubjectKind::kFace: return "face";
    case SubjectKind::kHands: return "hands";
    case SubjectKind::kBench: return "bench";
    case SubjectKind::kTip: return "tip:" + subject.prop;
    case SubjectKind::kProp: break;
  }
  return "prop:" + subject.prop;
}

std::string ToString(const Shot& shot) {
  std::string subjects;
  for (const Subject& subject : shot.subjects) subjects += (subjects.empty() ? "" : " + ") + ToString(subject);
  return fmt::format("{} of {}, {}", ToString(shot.size), subjects, ToString(shot.angle));
}

ShotSize ParseShotSize(std::string_view word) { return RowOf(kSizes, "shot size", word).size; }
ShotAngle ParseShotAngle(std::string_view word) { return RowOf(kAngles, "shot angle", word).angle; }
Composition ParseComposition(std::string_view word) { return RowOf(kCompositions, "composition", word).composition; }

Subject ParseSubject(std::string_view word) {
  if (word == "face") return {SubjectKind::kFace, ""};
  if (word == "hands") return {SubjectKind::kHands, ""};
  if (word == "bench") return {SubjectKind::kBench, ""};
  if (word.starts_with("prop:") && word.size() > 5) return {SubjectKind::kProp, std::string(word.substr(5))};
  if (word.starts_with("tip:") && word.size() > 4) return {SubjectKind::kTip, std::string(word.substr(4))};
  throw InputError(
      fmt::format("no subject \"{}\"{}", word.substr(0, 64), Suggest(word, {"face", "hands", "bench", "prop:NAME", "tip:NAME"})));
}

}  // namespace dryrig
