#include "sim/store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <SQLiteCpp/Savepoint.h>
#include <fmt/format.h>

#include <bit>
#include <cstring>

#include "scenes/error.h"
#include "sim/store_schema.h"
#include "sim/take_json.h"
#include "sim/take_series.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

static_assert(std::endian::native == std::endian::little, "series are stored as little-endian float64");

constexpr int kBusyMs = 10'000;
constexpr size_t kMaxBlobBytes = 1'000'000'000;  // SQLite's own limit

/// A journal left by a killed run must be rolled back first, even to read.
int OpenFlags(const fs::path& db, Store::Mode mode) {
  if (mode == Store::Mode::kRead && !fs::exists(db.string() + "-journal")) return SQLite::OPEN_READONLY;
  return SQLite::OPEN_READWRITE | (mode == Store::Mode::kCreate ? SQLite::OPEN_CREATE : 0);
}

const fs::path& CheckFile(const fs::path& db, Store::Mode mode) {
  const bool there = fs::exists(db);
  if (mode == Store::Mode::kCreate && there)
    throw InputError(fmt::format("{} is there already; choose another folder", db.string()));
  if (mode != Store::Mode::kCreate && !there) throw InputError(fmt::format("{}: no such file", db.string()));
  if (there && !fs::is_regular_file(db)) throw InputError(fmt::format("{} is not a file", db.string()));
  return db;
}

void BindOptional(SQLite::Statement& statement, int index, const std::optional<double>& value) {
  if (value)
    statement.bind(index, *value);
  else
    statement.bind(index);
}

std::optional<double> OptionalColumn(const SQLite::Column& column) {
  if (column.isNull()) return std::nullopt;
  return column.getDouble();
}

}  // namespace

struct Store::Impl {
  Impl(const fs::path& file, Mode mode) : path(CheckFile(file, mode)), db(file.string(), OpenFlags(file, mode), kBusyMs) {}

  void InOne(const std::function<void()>& writes) {
    SQLite::Savepoint savepoint(db, "together");
    writes();
    savepoint.release();
  }

  [[noreturn]] void NoTake(int64_t take) const { throw InputError(fmt::format("{}: no take {}", path.string(), take)); }

  std::string TakeColumn(int64_t take, const char* column) const {
    SQLite::Statement query(db, fmt::format("SELECT {} FROM takes WHERE id = ?", column));
    query.bind(1, take);
    if (!query.executeStep()) NoTake(take);
    return query.getColumn(0).isNull() ? "" : query.getColumn(0).getString();
  }

  void WriteSeries(int64_t take, const std::vector<TakeSeries>& all) {
    SQLite::Statement insert(db, "INSERT INTO series VALUES(?, ?, ?, ?, ?, ?, ?)");
    for (size_t i = 0; i < all.size(); ++i) {
      const TakeSeries& series = all[i];
      const size_t bytes = series.data.size() * sizeof(double);
      if (bytes > kMaxBlobBytes) {
        throw RunError(
            fmt::format("series {}: {} bytes are more than a store takes ({}); shorten the lesson or lower the physics rate",
                        series.name, bytes, kMaxBlobBytes));
      }
      insert.reset();
      insert.bind(1, take);
      insert.bind(2, static_cast<int64_t>(i));
      insert.bind(3, series.name);
      insert.bind(4, series.unit);
      insert.bind(5, series.rate_hz);
      insert.bind(6, StringsJson(series.columns));
      const void* data = bytes > 0 ? static_cast<const void*>(series.data.data()) : "";  // a null pointer would store NULL
      insert.bindNoCopy(7, data, static_cast<int>(bytes));
      insert.exec();
    }
  }

  std::vector<TakeSeries> ReadSeries(int64_t take) const {
    SQLite::Statement query(db, "SELECT name, unit, rate_hz, columns, data FROM series WHERE take = ? ORDER BY position");
    query.bind(1, take);
    std::vector<TakeSeries> out;
    while (query.executeStep()) {
      TakeSeries series{query.getColumn(0).getString(),
                        query.getColumn(1).getString(),
                        query.getColumn(2).getDouble(),
                        ReadStringsJson(query.getColumn(3).getString()),
                        {}};
      const SQLite::Column blob = query.getColumn(4);
      const auto bytes = static_cast<size_t>(blob.getBytes());
      if (bytes % sizeof(double) != 0) throw InputError(fmt::format("{}: series {} is cut short", path.string(), series.name));
      series.data.resize(bytes / sizeof(double));
      if (bytes > 0) std::memcpy(series.data.data(), blob.getBlob(), bytes);
      out.push_back(std::move(series));
    }
    return out;
  }

  fs::path path;
  mutable SQLite::Database db;
  int version = kSchemaVersion;  // of the file
};

Store::Store(const fs::path& db, Mode mode) {
  try {
    impl_ = std::make_unique<Impl>(db, mode);
    if (mode == Mode::kCreate || (mode == Mode::kAppend && IsBlank(impl_->db)))
      CreateSchema(impl_->db);
    else
      impl_->version = RequireSchema(impl_->db, impl_->path);
    if (mode == Mode::kAppend) impl_->version = MigrateSchema(impl_->db, impl_->version);
  } catch (const SQLite::Exception& error) {
    throw InputError(fmt::format("{}: {}", db.string(), error.what()));
  }
}

Store::~Store() = default;

void Store::Together(const std::function<void()>& writes) {
  try {
    impl_->InOne(writes);
  } catch (const SQLite::Exception& error) {
    throw RunError(fmt::format("{} could not be written: {}", impl_->path.string(), error.what()));
  }
}

int64_t Store::WriteTake(const Take& take, bool keep_series, std::optional<int64_t> id) {
  std::vector<Shot> shots;
  std::vector<TakeSeries> series;
  if (keep_series) series = SeriesOfTake(take, &shots);
  const TakeIdentity& who = take.id;
  int64_t row = 0;
  try {
    impl_->InOne([&] {
      SQLite::Statement insert(impl_->db, "INSERT INTO takes VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, '')");
      if (id) insert.bind(1, *id);
      int index = 2;
      for (const std::string* text :
           {&who.lesson, &who.policy, &who.params, &who.arm, &who.bench, &who.person, &who.camera, &who.sensing}) {
        insert.bind(index++, *text);
      }
      // SQLite's integers are signed: a seed beyond them is kept as text, and exactly in `identity` in any case.
      if (who.seed <= static_cast<uint64_t>(INT64_MAX))
        insert.bind(index++, static_cast<int64_t>(who.seed));
      else
        insert.bind(index++, std::to_string(who.seed));
      for (const double rate_hz : {who.physics_hz, who.control_hz, who.frame_hz}) insert.bind(index++, rate_hz);
      insert.bind(index++, who.inputs_hash);
      insert.bind(index++, take.duration_s);
      insert.bind(index++, IdentityJson(who));
      insert.bind(index++, TimelineJson(take));
      if (keep_series) insert.bind(index++, StageJson(take, shots));
      insert.exec();
      row = impl_->db.getLastInsertRowid();
      impl_->WriteSeries(row, series);
    });
  } catch (const SQLite::Exception& error) {
    throw RunError(
        fmt::format("{}: take of {} by {} could not be written: {}", impl_->path.string(), who.lesson, who.policy, error.what()));
  }
  return row;
}

void Store::WriteInputs(int64_t take, const std::vector<StoredInput>& inputs) {
  Together([&] {
    SQLite::Statement insert(impl_->db, "INSERT OR IGNORE INTO inputs VALUES(?, ?, ?, ?)");
    SQLite::Statement link(impl_->db, "INSERT INTO take_inputs VALUES(?, ?)");
    for (const StoredInput& input : inputs) {
      insert.reset();
      insert.bind(1, input.hash);
      insert.bind(2, input.kind);
      insert.bind(3, input.name);
      insert.bind(4, input.text);
      insert.exec();
      link.reset();
      link.bind(1, take);
      link.bind(2, input.hash);
      link.exec();
    }
  });
}

void Store::WriteScores(int64_t take, const std::vector<StoredScore>& scores) {
  Together([&] {
    SQLite::Statement old(impl_->db, "DELETE FROM scores WHERE take = ?");
    old.bind(1, take);
    old.exec();
    SQLite::Statement insert(impl_->db, "INSERT INTO scores VALUES(?, ?, ?, ?, ?, ?, ?)");
    for (size_t i = 0; i < scores.size(); ++i) {
      const StoredScore& score = scores[i];
      insert.reset();
      insert.bind(1, take);
      insert.bind(2, static_cast<int64_t>(i));
      insert.bind(3, score.metric);
      insert.bind(4, score.unit);
      BindOptional(insert, 5, score.value);
      BindOptional(insert, 6, score.worst_t_s);
      insert.bind(7, score.worst_what);
      insert.exec();
    }
  });
}

void Store::WriteCode(int64_t take, const std::string& code) {
  SQLite::Statement update(impl_->db, "UPDATE takes SET code = ? WHERE id = ?");
  update.bind(1, code);
  update.bind(2, take);
  if (update.exec() != 1) impl_->NoTake(take);
}

std::string Store::ReadCode(int64_t take) const {
  return impl_->version < 2 ? "" : impl_->TakeColumn(take, "code");
}

void Store::WriteVariants(int64_t take, const std::vector<VariantScore>& scores) {
  Together([&] {
    SQLite::Statement old(impl_->db, "DELETE FROM variants WHERE take = ? AND variant = ?");
    SQLite::Statement insert(impl_->db, "INSERT INTO variants VALUES(?, ?, ?, ?, ?, ?)");
    int64_t position = 0;
    for (size_t i = 0; i < scores.size(); ++i) {
      const VariantScore& score = scores[i];
      if (i == 0 || score.variant != scores[i - 1].variant) {
        old.reset();
        old.bind(1, take);
        old.bind(2, score.variant);
        old.exec();
        position = 0;
      }
      insert.reset();
      insert.bind(1, take);
      insert.bind(2, score.variant);
      insert.bind(3, position++);
      insert.bind(4, score.metric);
      insert.bind(5, score.unit);
      BindOptional(insert, 6, score.value);
      insert.exec();
    }
  });
}

std::vector<VariantScore> Store::ReadVariants(int64_t take) const {
  std::vector<VariantScore> out;
  if (impl_->version < 2) return out;
  SQLite::Statement query(impl_->db,
                          "SELECT variant, metric, unit, value FROM variants WHERE take = ? ORDER BY variant, position");
  query.bind(1, take);
  while (query.executeStep()) {
    out.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                   OptionalColumn(query.getColumn(3))});
  }
  return out;
}

void Store::Remove(int64_t take) {
  Together([&] {
    for (const char* table : {"series", "scores", "variants", "take_inputs"})
      impl_->db.exec(fmt::format("DELETE FROM {} WHERE take = {}", table, take));
    impl_->db.exec(fmt::format("DELETE FROM takes WHERE id = {}", take));
    impl_->db.exec("DELETE FROM inputs WHERE hash NOT IN (SELECT input FROM take_inputs)");
  });
}

std::vector<int64_t> Store::TakeIds() const {
  std::vector<int64_t> out;
  SQLite::Statement query(impl_->db, "SELECT id FROM takes ORDER BY id");
  while (query.executeStep()) out.push_back(query.getColumn(0).getInt64());
  return out;
}

TakeIdentity Store::ReadIdentity(int64_t take) const {
  return ReadIdentityJson(impl_->TakeColumn(take, "identity"));
}

bool Store::HasSeries(int64_t take) const {
  return !impl_->TakeColumn(take, "stage").empty();
}

Take Store::ReadTake(int64_t take) const {
  const std::string stage = impl_->TakeColumn(take, "stage");
  if (stage.empty()) {
    throw InputError(
        fmt::format("{}: the series of take {} were not kept; run it again with `dryrig take`, or `dryrig compare --keep-series`",
                    impl_->path.string(), take));
  }
  Take out;
  std::vector<Shot> shots;
  try {
    out.id = ReadIdentity(take);
    ReadTimelineJson(impl_->TakeColumn(take, "timeline"), &out);
    ReadStageJson(stage, &out, &shots);
    FillFromSeries(impl_->ReadSeries(take), shots, &out);
  } catch (const InputError& error) {
    throw InputError(fmt::format("{}:{}: {}", impl_->path.string(), take, error.what()));
  } catch (const SQLite::Exception& error) {
    throw InputError(fmt::format("{}:{}: {}", impl_->path.string(), take, error.what()));
  }
  return out;
}

std::vector<StoredScore> Store::ReadScores(int64_t take) const {
  std::vector<StoredScore> out;
  SQLite::Statement query(impl_->db,
                          "SELECT metric, unit, value, worst_t_s, worst_what FROM scores WHERE take = ? ORDER BY position");
  query.bind(1, take);
  while (query.executeStep()) {
    out.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), OptionalColumn(query.getColumn(2)),
                   OptionalColumn(query.getColumn(3)), query.getColumn(4).getString()});
  }
  return out;
}

std::vector<StoredInput> Store::ReadInputs(int64_t take) const {
  std::vector<StoredInput> out;
  SQLite::Statement query(
      impl_->db, "SELECT hash, kind, name, text FROM inputs JOIN take_inputs ON input = hash WHERE take = ? ORDER BY kind, name");
  query.bind(1, take);
  while (query.executeStep()) {
    out.push_back({query.getColumn(0).getString(), query.getColumn(1).getString(), query.getColumn(2).getString(),
                   query.getColumn(3).getString()});
  }
  return out;
}

std::optional<int64_t> Store::FindTake(const TakeIdentity& id) const {
  SQLite::Statement query(impl_->db, "SELECT id FROM takes WHERE identity = ?");
  query.bind(1, IdentityJson(id));
  if (!query.executeStep()) return std::nullopt;
  return query.getColumn(0).getInt64();
}

std::vector<int64_t> Store::FindOutdated(const TakeIdentity& id) const {
  SQLite::Statement query(impl_->db, "SELECT id FROM takes WHERE lesson = ? AND policy = ? AND person = ? ORDER BY id");
  query.bind(1, id.lesson);
  query.bind(2, id.policy);
  query.bind(3, id.person);
  std::vector<int64_t> out;
  while (query.executeStep()) {
    const int64_t take = query.getColumn(0).getInt64();
    TakeIdentity other = ReadIdentity(take);
    if (other.inputs_hash == id.inputs_hash) continue;
    other.inputs_hash = id.inputs_hash;
    if (IdentityJson(other) == IdentityJson(id)) out.push_back(take);
  }
  return out;
}

void Store::WriteContext(const std::string& json) {
  SQLite::Statement insert(impl_->db, "INSERT OR REPLACE INTO context VALUES('run', ?)");
  insert.bind(1, json);
  insert.exec();
}

std::string Store::ReadContext() const {
  SQLite::Statement query(impl_->db, "SELECT json FROM context WHERE key = 'run'");
  return query.executeStep() ? query.getColumn(0).getString() : "";
}

void Store::Compact() {
  try {
    impl_->db.exec("VACUUM");
  } catch (const SQLite::Exception& error) {
    throw RunError(fmt::format("{} could not be written anew: {}", impl_->path.string(), error.what()));
  }
}

}  // namespace dryrig
