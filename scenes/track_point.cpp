#include "scenes/track_point.h"

#include <fmt/format.h>

#include <algorithm>

namespace dryrig {

namespace {

std::vector<std::string> MakeNames() {
  std::vector<std::string> names{"pelvis", "spine", "chest", "neck", "head", "head_top", "nose"};
  for (const char* pair : {"eye", "ear", "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "toe", "fingers", "thumb"}) {
    for (const char* side : {"left", "right"}) names.push_back(fmt::format("{}_{}", side, pair));
  }
  for (const char* side : {"left", "right"}) {
    for (const char* finger : {"thumb", "index", "middle", "ring", "little"}) {
      for (int i = 1; i <= 4; ++i) names.push_back(fmt::format("{}_{}_{}", side, finger, i));
    }
  }
  return names;
}

}  // namespace

const std::vector<std::string>& TrackPointNames() {
  static const std::vector<std::string> names = MakeNames();
  return names;
}

const std::string& ToString(TrackPoint point) {
  return TrackPointNames().at(static_cast<size_t>(point));
}

std::optional<TrackPoint> FindTrackPoint(std::string_view name) {
  const auto& names = TrackPointNames();
  const auto it = std::find(names.begin(), names.end(), name);
  if (it == names.end()) return std::nullopt;
  return static_cast<TrackPoint>(it - names.begin());
}

}  // namespace dryrig
