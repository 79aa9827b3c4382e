#pragma once

#include "scenes/lesson.h"
#include "scenes/recorded_lesson.h"
#include "scenes/yaml_node.h"

namespace dryrig {

/// The pieces of ParseLesson, in the order it calls them. All throw InputError.
std::vector<Prop> ReadProps(const YamlNode& node);
/// Follows what each hand holds and where each prop lies, so that no beat asks for what cannot be.
std::vector<Beat> ReadBeats(const YamlNode& node, const std::vector<Prop>& props);
/// What the author asks for with this beat, or what a good operator would show of it; none where nothing is asked.
std::optional<Intent> ReadIntent(const YamlMap& beat_map, const Beat& beat, const std::vector<Prop>& props);
/// The keys subject, size, angle and composition of a map.
Shot ReadShot(const YamlMap& map, const std::vector<Prop>& props);
/// The prop of that name. @throws InputError `intent of "awll": no such prop`.
const Prop& RequireProp(const YamlNode& node, const std::string& name, std::string_view action, const std::vector<Prop>& props);

/// The `recorded` block, its files read by `read`.
RecordedLesson ReadRecorded(const YamlNode& node, const std::vector<Prop>& props, const FileReader& read);
/// The `intents` of a recorded lesson, in order of time.
std::vector<RecordedIntent> ReadTimedIntents(const YamlNode& node, const std::vector<Prop>& props);

/// Do the two share ground when they lie at these places, in bench coordinates? Touching is not sharing.
bool FootprintsOverlap(const Prop& a, const Eigen::Vector2d& a_m, const Prop& b, const Eigen::Vector2d& b_m);
/// Half extents of the ground it takes along the bench's x and y.
Eigen::Vector2d FootprintHalf(const Prop& prop);

}  // namespace dryrig
