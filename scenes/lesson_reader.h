#pragma once

#include "scenes/lesson.h"
#include "scenes/yaml_node.h"

namespace dryrig {

/// The pieces of ParseLesson, in the order it calls them. All throw InputError.
std::vector<Prop> ReadProps(const YamlNode& node);
/// Follows what each hand holds and where each prop lies, so that no beat asks for what cannot be.
std::vector<Beat> ReadBeats(const YamlNode& node, const std::vector<Prop>& props);

/// Do the two share ground when they lie at these places, in bench coordinates? Touching is not sharing.
bool FootprintsOverlap(const Prop& a, const Eigen::Vector2d& a_m, const Prop& b, const Eigen::Vector2d& b_m);
/// Half extents of the ground it takes along the bench's x and y.
Eigen::Vector2d FootprintHalf(const Prop& prop);

}  // namespace dryrig
