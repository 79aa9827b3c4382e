#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "sim/store.h"
#include "viewer/filmed.h"
#include "viewer/runner.h"

namespace dryrig {

/// One take of a store, to choose from.
struct StoredTake {
  std::filesystem::path db;
  int64_t id = 0;
  TakeIdentity identity;
  bool has_series = false;  // else it is filmed again to be seen
};
struct TakeList {
  std::string source;
  std::vector<StoredTake> takes;
};

/// What opening leads to: a take, or takes to choose from.
using Opened = std::variant<std::shared_ptr<const FilmedTake>, TakeList>;
using OpenRunner = Runner<Opened>;

/// The policy that films a lesson when none is named.
inline constexpr const char* kDefaultPolicy = "planner";

/// Opens a lesson (file or shipped name), a take (FILE.db, FILE.db:ID) or a folder with results in it or one level down. A lesson
/// is filmed: its first moments are delivered at once, then the whole. A folder or file of one take opens that.
/// `how` gives what else a lesson is filmed with; its own lesson is not read. @throws InputError, RunError, TakeStopped.
void OpenWhat(const std::string& what, TakeChoice how, OpenRunner::Desk& desk);

/// Films and delivers; first, if asked, the first moments. @throws as Film does.
void FilmAndDeliver(std::shared_ptr<const Recipe> recipe, bool preview_first, OpenRunner::Desk& desk);

}  // namespace dryrig
