#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// What kinds of scene file there are; each has a folder of that name in `scenes/`.
enum class SceneKind { kArm, kBench, kCamera, kLesson, kPerson, kSensing, kSuite, kProfile };

/// Names of the shipped files of a kind, sorted.
std::vector<std::string> ListScenes(SceneKind kind);
/// A path as given if it names an existing file, else the shipped file of that name. @throws InputError with a suggestion.
std::filesystem::path FindScene(SceneKind kind, const std::string& name_or_path);
/// The shipped `scenes` folder: $DRYRIG_SCENES, else the source tree's, else the installed one.
std::filesystem::path ScenesFolder();
/// `arm`, `bench`, ... as a word for messages.
std::string_view ToString(SceneKind kind);

}  // namespace dryrig
