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
/// The shipped `scenes` folder: $DRYRIG_SCENES, else the one installed beside this program, else the source tree's, else the installed one.
std::filesystem::path ScenesFolder();
/// `relative` at or above the folder that the running program, or the module that this code is part of, lies in; else empty. So an
/// installed copy finds what was installed with it, wherever that is.
std::filesystem::path InstalledBeside(const std::string& relative);
/// `arm`, `bench`, ... as a word for messages.
std::string_view ToString(SceneKind kind);

}  // namespace dryrig
