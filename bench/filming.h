#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench/grid.h"
#include "bench/out_folder.h"
#include "bench/pictures.h"
#include "bench/progress.h"
#include "sim/store.h"

namespace dryrig {

/// How a grid is filmed into a folder.
struct FilmingOptions {
  std::string out;  // for the commands of failed takes
  int jobs = 1;
  bool keep_series = false, force = false, quiet = false;
  std::vector<SuiteVariant> variants;
};

/// A take that could not be filmed.
struct Failure {
  size_t index;
  std::string command, error;
};

/// Opens the folder's results.db to go on with, or begins it. What it holds of takes whose input files have changed since is
/// removed, and told. @throws InputError where takes stand there without their series and those are wanted, unless options.force.
std::unique_ptr<Store> OpenResults(const OutFolder& out, const std::vector<GridTake>& grid, const FilmingOptions& options);

/// Films what the store does not hold yet, or holds of other code than this program's; scores again what is kept whole and
/// differs in the metrics alone. Returns what failed, in grid order. `sheets`, if any, sees each take as it finishes. A `whole`
/// of which this grid is a part counts its takes, and is told which need not be filmed; then nothing is said of what is there,
/// and the store is left in the order of writing.
std::vector<Failure> FilmMissing(const std::vector<GridTake>& grid, const FilmingOptions& options, SceneShelf& shelf,
                                 Store* store, LessonSheets* sheets, Progress* whole = nullptr);

}  // namespace dryrig
