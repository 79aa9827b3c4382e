#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
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

/// One file that a take was made from; `hash` is of its text.
struct StoredInput {
  std::string hash, kind, name, text;
};

/// One number of a take scored by another key: with intents moved or resized, or other tolerances.
struct VariantScore {
  std::string variant, metric, unit;
  std::optional<double> value;
};

/// One SQLite file `results.db`: inputs by content hash, takes, scores, series (little-endian float64 blobs). One transaction a
/// take: after kill -9 every finished take is there. Documented schema in DEVELOPERS.md; `PRAGMA user_version` is its version.
class Store {
 public:
  enum class Mode { kRead, kCreate, kAppend };
  /// A file of an older version is read as it is; kAppend makes it one of this version, in one transaction, and begins one that
  /// is blank.
  /// @throws InputError if the file is missing (kCreate: there already), no store of ours, or of a newer version.
  Store(const std::filesystem::path& db, Mode mode);
  ~Store();

  /// All that `writes` writes becomes one transaction: kept whole or, if it throws, not at all.
  void Together(const std::function<void()>& writes);
  /// Writes a take; `keep_series` false keeps identity and time line only. Returns its id: `id`, or one more than the largest.
  /// @throws RunError if the id or a take of the same identity is there already.
  int64_t WriteTake(const Take& take, bool keep_series, std::optional<int64_t> id = std::nullopt);
  void WriteInputs(int64_t take, const std::vector<StoredInput>& inputs);
  /// In place of the scores that the take had.
  void WriteScores(int64_t take, const std::vector<StoredScore>& scores);
  /// What code made the take; empty where it is not known, as in files of version 1.
  void WriteCode(int64_t take, const std::string& code);
  std::string ReadCode(int64_t take) const;
  /// In place of what the take had under these variants.
  void WriteVariants(int64_t take, const std::vector<VariantScore>& scores);
  /// By variant, then in the metrics' order.
  std::vector<VariantScore> ReadVariants(int64_t take) const;
  /// The take with all that belongs to it; inputs that no other take has go too.
  void Remove(int64_t take);
  std::vector<int64_t> TakeIds() const;
  TakeIdentity ReadIdentity(int64_t take) const;
  bool HasSeries(int64_t take) const;
  /// Without loss: equal to the take written, bit for bit. @throws InputError if its series were not kept.
  Take ReadTake(int64_t take) const;
  std::vector<StoredScore> ReadScores(int64_t take) const;
  std::vector<StoredInput> ReadInputs(int64_t take) const;
  std::optional<int64_t> FindTake(const TakeIdentity& id) const;
  /// Takes that differ from `id` in their input files' contents alone.
  std::vector<int64_t> FindOutdated(const TakeIdentity& id) const;
  /// A key-value of the whole file: context of the run.
  void WriteContext(const std::string& json);
  /// Rewrites the file by key: the same contents, written in as many transactions in any order, become the same bytes.
  void Compact();
  std::string ReadContext() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

/// Copies every take of the store `other` into the store `into`, whole: its id stays where it is free there, else the take comes
/// after all others. One that is there already with the same scores is passed over. One transaction. Returns how many were
/// copied. @throws InputError if the same take scored otherwise in the two, naming it, or a file is no store of ours.
size_t AbsorbStore(const std::filesystem::path& into, const std::filesystem::path& other);

/// A TAKE as a command line names it: a folder with results.db or a `FILE.db` (its only take), either with `:ID` after it.
struct TakeRef {
  std::filesystem::path db;
  int64_t id;
};
/// @throws InputError: no such store, no such take, or several takes and none named.
TakeRef ParseTakeRef(const std::string& text);

}  // namespace dryrig
