#include "scenes/catalogue.h"

#include <dlfcn.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <system_error>

#include "scenes/error.h"

namespace dryrig {

namespace {

struct KindRow {
  std::string_view word, folder;
};
constexpr std::array kKinds{KindRow{"arm", "arms"},       KindRow{"bench", "benches"},   KindRow{"camera", "cameras"},
                            KindRow{"lesson", "lessons"}, KindRow{"person", "people"},   KindRow{"sensing", "sensing"},
                            KindRow{"suite", "suites"},   KindRow{"profile", "profiles"}};

const KindRow& RowOf(SceneKind kind) {
  return kKinds[static_cast<size_t>(kind)];
}

bool IsFolder(const std::filesystem::path& path) {
  std::error_code error;
  return std::filesystem::is_directory(path, error);
}

bool IsFile(const std::filesystem::path& path) {
  std::error_code error;
  return std::filesystem::is_regular_file(path, error);
}

}  // namespace

std::string_view ToString(SceneKind kind) {
  return RowOf(kind).word;
}

std::filesystem::path ScenesFolder() {
  if (const char* set = std::getenv("DRYRIG_SCENES"); set != nullptr && *set != '\0') {
    if (!IsFolder(set)) throw InputError(fmt::format("DRYRIG_SCENES is \"{}\", which is no folder; correct or unset it", set));
    return set;
  }
  if (const std::filesystem::path beside = InstalledBeside("share/dryrig/scenes"); !beside.empty()) return beside;
  for (const char* folder : {DRYRIG_SOURCE_SCENES, DRYRIG_INSTALLED_SCENES}) {
    if (IsFolder(folder)) return folder;
  }
  throw InputError(fmt::format("no folder with scenes, neither {} nor {}; set DRYRIG_SCENES to one", DRYRIG_SOURCE_SCENES,
                               DRYRIG_INSTALLED_SCENES));
}

std::filesystem::path InstalledBeside(const std::string& relative) {
  Dl_info here;
  static const char kHere = 0;
  if (dladdr(&kHere, &here) == 0 || here.dli_fname == nullptr) return {};
  std::error_code error;
  std::filesystem::path module = std::filesystem::canonical(here.dli_fname, error);
  if (error) module = std::filesystem::read_symlink("/proc/self/exe", error);  // a program started by its name alone
  for (std::filesystem::path folder = module.parent_path(); folder.has_relative_path(); folder = folder.parent_path()) {
    if (IsFolder(folder / relative)) return folder / relative;
  }
  return {};
}

std::vector<std::string> ListScenes(SceneKind kind) {
  std::vector<std::string> names;
  std::error_code error;
  for (std::filesystem::directory_iterator it(ScenesFolder() / RowOf(kind).folder, error), end; !error && it != end;
       it.increment(error)) {
    if (it->path().extension() == ".yaml" && IsFile(it->path())) names.push_back(it->path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

std::filesystem::path FindScene(SceneKind kind, const std::string& name_or_path) {
  if (IsFile(name_or_path)) return name_or_path;
  const std::filesystem::path path(name_or_path);
  if (path.has_parent_path() || path.has_extension()) {
    throw InputError({name_or_path},
                     fmt::format("no such {} file{}", ToString(kind), Suggest(path.stem().string(), ListScenes(kind))));
  }
  const std::vector<std::string> names = ListScenes(kind);
  if (std::find(names.begin(), names.end(), name_or_path) == names.end()) {
    throw InputError(fmt::format("no {} \"{}\"{}", ToString(kind), name_or_path.substr(0, 64), Suggest(name_or_path, names)));
  }
  return ScenesFolder() / RowOf(kind).folder / (name_or_path + ".yaml");
}

}  // namespace dryrig
