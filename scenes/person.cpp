#include "scenes/person.h"

#include <fmt/format.h>

#include <array>

#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

/// Shares of stature: Drillis & Contini 1966 as printed in Winter 2009, fig. 4.1. Shoulder half breadth is its neck-to-shoulder
/// length, hip half breadth half of its hip breadth.
struct Length {
  const char* key;
  double PersonSpec::*field;
  double share;
};
constexpr std::array kLengths{
    Length{"eye_height_mm", &PersonSpec::eye_height_m, 0.936},
    Length{"shoulder_height_mm", &PersonSpec::shoulder_height_m, 0.818},
    Length{"hip_height_mm", &PersonSpec::hip_height_m, 0.530},
    Length{"knee_height_mm", &PersonSpec::knee_height_m, 0.285},
    Length{"upper_arm_mm", &PersonSpec::upper_arm_m, 0.186},
    Length{"forearm_mm", &PersonSpec::forearm_m, 0.146},
    Length{"hand_mm", &PersonSpec::hand_m, 0.108},
    Length{"shoulder_half_breadth_mm", &PersonSpec::shoulder_half_breadth_m, 0.129},
    Length{"hip_half_breadth_mm", &PersonSpec::hip_half_breadth_m, 0.191 / 2},
    Length{"head_height_mm", &PersonSpec::head_height_m, 0.130},
};

/// Nobody's segments are further from the mean share; wrong units are.
constexpr double kLeastOfShare = 0.7, kMostOfShare = 1.4;

void RequireAscending(const PersonSpec& spec, const YamlMap& map) {
  const std::array<std::pair<const char*, double>, 5> heights{{{"knee_height_mm", spec.knee_height_m},
                                                               {"hip_height_mm", spec.hip_height_m},
                                                               {"shoulder_height_mm", spec.shoulder_height_m},
                                                               {"eye_height_mm", spec.eye_height_m},
                                                               {"stature_mm", spec.stature_m}}};
  for (size_t i = 0; i + 1 < heights.size(); ++i) {
    if (heights[i].second < heights[i + 1].second) continue;
    const YamlNode where = map.Has(heights[i].first) ? map.At(heights[i].first) : map.At(heights[i + 1].first);
    where.FailPlain(fmt::format("{} of {} mm is not below {} of {} mm; measure again", heights[i].first, heights[i].second * 1000,
                                heights[i + 1].first, heights[i + 1].second * 1000));
  }
}

}  // namespace

PersonSpec WithRatios(PersonSpec spec) {
  for (const Length& length : kLengths) {
    if (spec.*length.field == 0) spec.*length.field = length.share * spec.stature_m;
  }
  return spec;
}

PersonSpec ParsePerson(const std::string& text, const std::string& file_name) {
  std::vector<std::string> known{"title",          "stature_mm", "mass_kg", "handed", "seated",
                                 "seat_height_mm", "pace",       "fidget",  "startle"};
  for (const Length& length : kLengths) known.emplace_back(length.key);
  const YamlMap map = YamlNode::Parse(text, file_name).Document("person", known);
  PersonSpec spec;
  spec.name = std::filesystem::path(file_name).stem().string();
  spec.title = map.Text("title");
  spec.stature_m = map.Number("stature_mm", {1200, 2200});
  spec.mass_kg = map.Number("mass_kg", {30, 250});
  spec.left_handed = map.At("handed").Choice<bool>({{"left", true}, {"right", false}});
  spec.seated = map.Bool("seated", false);
  if (spec.seated) {
    spec.seat_height_m = map.Number("seat_height_mm", {250, 900});
  } else if (const auto seat = map.Find("seat_height_mm")) {
    seat->Fail("a person who stands has no seat; add `seated: true` or leave this out");
  }
  for (const Length& length : kLengths) {
    const double mean_mm = length.share * spec.stature_m * 1000;
    spec.*length.field = map.Number(length.key, {kLeastOfShare * mean_mm, kMostOfShare * mean_mm}, 0);
  }
  spec.pace = map.Number("pace", {0.5, 2}, 1);
  spec.fidget = map.Number("fidget", {0, 1}, 0);
  if (const auto node = map.Find("startle")) {
    const YamlMap startle = node->In("startle").Map({"within_mm", "closing_m_per_s", "lean_deg"});
    spec.startle.within_m = startle.Number("within_mm", {50, 3000});
    spec.startle.closing_mps = startle.Number("closing_m_per_s", {0.01, 5});
    spec.startle.lean = startle.Number("lean_deg", {1, 20});
  }
  spec = WithRatios(std::move(spec));
  RequireAscending(spec, map);
  spec.text = text;
  return spec;
}

PersonSpec ReadPerson(const std::filesystem::path& file) {
  return ParsePerson(ReadTextFile(file), file.string());
}

}  // namespace dryrig
