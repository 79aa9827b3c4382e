#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "sim/take.h"

namespace dryrig {

/// A score as stored; `value` none is SQL NULL.
struct StoredScore {
  std::string metric, unit;
  std::optional<double> value, worst_t_s;
  std::string worst_what;
};

/// One SQLite file `results.db`: inputs by content hash, takes, scores, series (little-endian float64 blobs). One transaction a
/// take: after kill -9 every finished take is there. Documented schema in DEVELOPERS.md; `PRAGMA user_version` is its version.
class Store {
 public:
  enum class Mode { kRead, kCreate, kAppend };
  /// @throws InputError if the file is missing, no store of ours, or of a newer version.
  Store(const std::filesystem::path& db, Mode mode);
  ~Store();

  /// Writes a take; `keep_series` false keeps identity and time line only. Returns its id (1, 2, ...).
  int64_t WriteTake(const Take& take, bool keep_series);
  void WriteScores(int64_t take, const std::vector<StoredScore>& scores);
  std::vector<int64_t> TakeIds() const;
  TakeIdentity ReadIdentity(int64_t take) const;
  bool HasSeries(int64_t take) const;
  /// Without loss: equal to the take written, bit for bit. @throws InputError if its series were not kept.
  Take ReadTake(int64_t take) const;
  std::vector<StoredScore> ReadScores(int64_t take) const;
  std::optional<int64_t> FindTake(const TakeIdentity& id) const;
  /// A key-value of the whole file: context of the run.
  void WriteContext(const std::string& json);
  std::string ReadContext() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// A TAKE as a command line names it: a folder with results.db, `FILE.db` (its only take) or `FILE.db:ID`.
struct TakeRef { std::filesystem::path db; int64_t id; };
/// @throws InputError.
TakeRef ParseTakeRef(const std::string& text);

}  // namespace dryrig
