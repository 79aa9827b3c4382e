#include "viewer/opening.h"

#include <fmt/format.h>

#include <algorithm>

#include "scenes/error.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

constexpr double kPreview_s = 0.2;  // filmed in a few milliseconds

bool NamesStore(const std::string& what) {
  if (fs::path(what).extension() == ".db") return true;
  const size_t colon = what.rfind(':');  // as ParseTakeRef: a path with a colon is a path if it is there
  return colon != std::string::npos && !fs::exists(what) &&
         (fs::path(what.substr(0, colon)).extension() == ".db" || fs::is_directory(what.substr(0, colon)));
}

std::vector<fs::path> StoresIn(const fs::path& folder) {
  if (fs::exists(folder / "results.db")) return {folder / "results.db"};
  std::vector<fs::path> out;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) {
    if (entry.is_directory() && fs::exists(entry.path() / "results.db")) out.push_back(entry.path() / "results.db");
  }
  std::sort(out.begin(), out.end());
  if (out.empty()) throw InputError(fmt::format("{}: no results.db in this folder, nor one folder down", folder.string()));
  return out;
}

TakeList ListTakes(const std::string& source, const std::vector<fs::path>& stores, OpenRunner::Desk& desk) {
  TakeList out{source, {}};
  for (size_t s = 0; s < stores.size(); ++s) {
    const Store store(stores[s], Store::Mode::kRead);
    const std::vector<int64_t> ids = store.TakeIds();
    for (size_t i = 0; i < ids.size(); ++i) {
      const double share = (static_cast<double>(s) + static_cast<double>(i) / static_cast<double>(ids.size())) /
                           static_cast<double>(stores.size());
      if (!desk.GoOn(share)) throw TakeStopped("stopped");
      out.takes.push_back({stores[s], ids[i], store.ReadIdentity(ids[i]), store.HasSeries(ids[i])});
    }
  }
  if (out.takes.empty()) throw InputError(source + " holds no take");
  return out;
}

std::shared_ptr<const FilmedTake> Shared(FilmedTake filmed) {
  return std::make_shared<const FilmedTake>(std::move(filmed));
}

}  // namespace

void FilmAndDeliver(std::shared_ptr<const Recipe> recipe, bool preview_first, OpenRunner::Desk& desk) {
  if (preview_first) {
    desk.Deliver(Shared(Film(recipe, kPreview_s, [&](double) { return desk.GoOn(0); })));
  }
  desk.Deliver(Shared(Film(std::move(recipe), 0, [&](double share) { return desk.GoOn(share); })));
}

void OpenWhat(const std::string& what, TakeChoice how, OpenRunner::Desk& desk) {
  if (what.empty()) throw InputError("nothing is named to open; give a lesson, a take or a results folder");
  const auto open_stored = [&](const fs::path& db, int64_t id) {
    desk.Deliver(Shared(OpenStored(db, id, [&](double share) { return desk.GoOn(share); })));
  };
  const bool folder = fs::is_directory(what);
  if (folder || NamesStore(what)) {
    if (!how.captions.empty()) {
      throw InputError(fmt::format("--captions {} goes with a recording (.bvh, .csv); a stored take has its own", how.captions));
    }
    if (!folder && what.rfind(':') != std::string::npos && !fs::exists(what)) {
      const TakeRef ref = ParseTakeRef(what);
      return open_stored(ref.db, ref.id);
    }
    const TakeList list = ListTakes(what, folder ? StoresIn(what) : std::vector<fs::path>{what}, desk);
    if (list.takes.size() > 1) return desk.Deliver(list);
    return open_stored(list.takes.front().db, list.takes.front().id);
  }
  how.lesson = what;
  if (how.policy.name.empty()) how.policy.name = kDefaultPolicy;
  FilmAndDeliver(std::make_shared<const Recipe>(MakeRecipe(how)), true, desk);
}

}  // namespace dryrig
