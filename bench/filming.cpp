#include "bench/filming.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "bench/code_id.h"
#include "bench/context.h"
#include "bench/scorecard.h"
#include "bench/sensitivity.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

/// Beyond this a results.db is left in the order of writing: rewriting it would take longer than its order is worth.
constexpr uintmax_t kCompactBelowBytes = 256u << 20;
/// Ids up to here are places in a grid; a take whose place another grid's take has comes after.
constexpr int64_t kMostPlaces = 1'000'000;

bool LacksSeries(const Store& store, const GridTake& take, bool keep_all) {
  if (!keep_all && !take.keep_series) return false;
  const auto id = store.FindTake(take.id);
  return id && !store.HasSeries(*id);
}

/// Takes of the store that are the grid's but for what their input files say now.
void RemoveOutdated(Store* store, const std::vector<GridTake>& grid) {
  std::set<int64_t> outdated;
  for (const GridTake& take : grid) {
    for (const int64_t id : store->FindOutdated(take.id)) outdated.insert(id);
  }
  for (const GridTake& take : grid) {
    if (const auto id = store->FindTake(take.id)) outdated.erase(*id);
  }
  if (outdated.empty()) return;
  fmt::print(stderr, "dryrig: {} take{} made from files that have changed since: filmed anew\n", outdated.size(),
             outdated.size() == 1 ? " was" : "s were");
  store->Together([&] {
    for (const int64_t id : outdated) store->Remove(id);
  });
}

bool HasVariants(const Store& store, int64_t id, const std::vector<SuiteVariant>& variants) {
  if (variants.empty()) return true;
  std::set<std::string> there;
  for (const VariantScore& score : store.ReadVariants(id)) there.insert(score.variant);
  return std::all_of(variants.begin(), variants.end(),
                     [&](const SuiteVariant& variant) { return there.contains(ToString(variant)); });
}

/// An id for every take of the grid, the same whatever the order of finishing and the shard: its place in the whole grid, or
/// where another take has that id, one beyond all.
std::vector<int64_t> ChooseIds(const Store& store, const std::vector<GridTake>& grid) {
  const std::vector<int64_t> ids = store.TakeIds();
  const std::set<int64_t> used(ids.begin(), ids.end());
  int64_t beyond = std::max(kMostPlaces, ids.empty() ? 0 : ids.back());
  std::vector<int64_t> out;
  for (const GridTake& take : grid) {
    const auto place = static_cast<int64_t>(take.place) + 1;
    if (const auto there = store.FindTake(take.id))
      out.push_back(*there);
    else
      out.push_back(used.contains(place) ? ++beyond : place);
  }
  return out;
}

/// What to do with each take of a grid.
struct Work {
  std::vector<size_t> film;
  size_t there = 0, rescored = 0;
  std::vector<int64_t> stale;  // ids
};

/// Scores a take that the store has whole by this program's metrics and the wanted variants.
void ScoreAgain(Store* store, int64_t id, const std::string& code, bool deployable, const std::vector<SuiteVariant>& variants) {
  Take take = store->ReadTake(id);
  const std::vector<StoredScore> scores = ToStored(ScoreTake(take));
  const std::vector<VariantScore> others = deployable ? ScoreVariants(&take, variants) : std::vector<VariantScore>{};
  store->Together([&] {
    store->WriteScores(id, scores);
    store->WriteVariants(id, others);
    store->WriteCode(id, code);
  });
}

/// What is stale is removed first, so that a run that is cut off leaves no mixture of two programs' takes.
Work LookThrough(const std::vector<GridTake>& grid, const std::vector<SuiteVariant>& variants, Store* store) {
  Work out;
  for (size_t i = 0; i < grid.size(); ++i) {
    const auto id = store->FindTake(grid[i].id);
    if (!id) {
      out.film.push_back(i);
      continue;
    }
    const std::string code = CodeOf(grid[i].id.policy), theirs = store->ReadCode(*id);
    const bool deployable = IsDeployable(grid[i].id.policy);
    const bool lacks = deployable && !HasVariants(*store, *id, variants);
    if (code == theirs && !lacks) {
      ++out.there;
    } else if ((code == theirs || DifferInMetricsAlone(code, theirs)) && store->HasSeries(*id)) {
      ScoreAgain(store, *id, code, deployable, variants);
      ++out.rescored;
    } else {
      out.stale.push_back(*id);
      out.film.push_back(i);
    }
  }
  store->Together([&] {
    for (const int64_t id : out.stale) store->Remove(id);
  });
  return out;
}

}  // namespace

std::unique_ptr<Store> OpenResults(const OutFolder& out, const std::vector<GridTake>& grid, const FilmingOptions& options) {
  const std::string context = ToJson(ThisBuild()).dump();
  if (fs::exists(out.Database())) {
    auto store = std::make_unique<Store>(out.Database(), Store::Mode::kAppend);
    const bool lack = std::any_of(grid.begin(), grid.end(),
                                  [&](const GridTake& take) { return LacksSeries(*store, take, options.keep_series); });
    if (!lack) {
      RemoveOutdated(store.get(), grid);
      if (store->ReadContext() != context) store->WriteContext(context);
      return store;
    }
    if (!options.force) {
      throw InputError(
          fmt::format("the results in {} hold takes without their series; choose another --out, or --force to begin anew",
                      out.path().string()));
    }
    fmt::print(stderr, "dryrig: the results in {} hold takes without their series; beginning anew\n", out.path().string());
    store.reset();
    out.RemoveResults();
  }
  auto store = std::make_unique<Store>(out.Database(), Store::Mode::kCreate);
  store->WriteContext(context);
  return store;
}

std::vector<Failure> FilmMissing(const std::vector<GridTake>& grid, const FilmingOptions& options, SceneShelf& shelf,
                                 Store* store, LessonSheets* sheets, Progress* whole) {
  const Work work = LookThrough(grid, options.variants, store);
  const std::vector<int64_t> ids = ChooseIds(*store, grid);
  if (whole != nullptr) whole->Without(work.there + work.rescored);
  const bool tell = whole == nullptr;
  if (tell && work.there > 0) fmt::print(stderr, "dryrig: resuming: {} of {} takes are there already\n", work.there, grid.size());
  if (!work.stale.empty()) {
    fmt::print(stderr,
               "dryrig: {} take{} made by other code than this program's, or not scored by the suite's other keys: filmed anew\n",
               work.stale.size(), work.stale.size() == 1 ? " was" : "s were");
  }
  if (tell && work.rescored > 0) fmt::print(stderr, "dryrig: {} takes, kept whole, are scored again\n", work.rescored);
  std::vector<Failure> failures;
  std::optional<Progress> own;
  if (tell) own.emplace(work.film.size(), options.quiet || work.film.empty());
  Progress& progress = tell ? *own : *whole;
  const auto done = [&](const RanTake& ran) {
    const GridTake& take = grid[ran.index];
    if (ran.error.empty()) {
      store->Together([&] {
        const int64_t id = store->WriteTake(ran.take, options.keep_series || take.keep_series, ids[ran.index]);
        store->WriteInputs(id, ran.inputs);
        store->WriteScores(id, ran.scores);
        store->WriteVariants(id, ran.variants);
        store->WriteCode(id, CodeOf(take.id.policy));
      });
      if (sheets != nullptr) sheets->Film(ran.index, ran.take);
    } else {
      failures.push_back({ran.index, CommandFor(take.choice, options.out + "/failed"), ran.error});
      progress.Say(fmt::format("dryrig: a take failed: {}\n  {}", ran.error, failures.back().command));
    }
    progress.Done(fmt::format("{} by {} with {}", take.id.lesson, take.id.policy, take.id.person));
  };
  RunGrid(grid, work.film, options.jobs, shelf, done, options.variants);
  if (own) own->Finish();
  const bool changed = tell && (!work.film.empty() || work.rescored > 0);
  if (changed && fs::file_size(fs::path(options.out) / "results.db") < kCompactBelowBytes) store->Compact();
  std::sort(failures.begin(), failures.end(), [](const Failure& a, const Failure& b) { return a.index < b.index; });
  return failures;
}

}  // namespace dryrig
