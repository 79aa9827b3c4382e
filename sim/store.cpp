#include "sim/store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <SQLiteCpp/Savepoint.h>
#include <fmt/format.h>

#include <bit>
#include <charconv>
#include <cstring>

#include "scenes/error.h"
#include "sim/take_json.h"
#include "sim/take_series.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

static_assert(std::endian::native == std::endian::little, "series are stored as little-endian float64");

constexpr int kApplicationId = 0x44525947;  // "DRYG"
constexpr int kVersion = 1;
constexpr int kBusyMs = 10'000;
constexpr size_t kMaxBlobBytes = 1'000'000'000;  // SQLite's own limit

// Tables without a rowid keep their order by key, so that the order of writing leaves no trace.
constexpr const char* kSchema = R"sql(
CREATE TABLE context(key TEXT PRIMARY KEY, json TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE inputs(hash TEXT PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, text TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE takes(
  id INTEGER PRIMARY KEY,
  lesson TEXT NOT NULL, policy TEXT NOT NULL, params TEXT NOT NULL, arm TEXT NOT NULL, bench TEXT NOT NULL, person TEXT NOT NULL,
  camera TEXT NOT NULL, sensing TEXT NOT NULL, seed INTEGER NOT NULL, physics_hz REAL NOT NULL, control_hz REAL NOT NULL,
  frame_hz REAL NOT NULL, inputs_hash TEXT NOT NULL, duration_s REAL NOT NULL,
  identity TEXT NOT NULL UNIQUE, timeline TEXT NOT NULL, stage TEXT);
CREATE TABLE take_inputs(take INTEGER NOT NULL REFERENCES takes(id), input TEXT NOT NULL REFERENCES inputs(hash),
  PRIMARY KEY(take, input)) WITHOUT ROWID;
CREATE TABLE scores(take INTEGER NOT NULL REFERENCES takes(id), position INTEGER NOT NULL, metric TEXT NOT NULL, unit TEXT NOT NULL,
  value REAL, worst_t_s REAL, worst_what TEXT NOT NULL, PRIMARY KEY(take, position)) WITHOUT ROWID;
CREATE TABLE series(take INTEGER NOT NULL REFERENCES takes(id), position INTEGER NOT NULL, name TEXT NOT NULL, unit TEXT NOT NULL,
  rate_hz REAL NOT NULL, columns TEXT NOT NULL, data BLOB NOT NULL, PRIMARY KEY(take, position)) WITHOUT ROWID;
)sql";

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

  void Create() {
    // The rollback journal, not a write-ahead log: one file at rest, readable from a folder that cannot be written.
    db.exec("PRAGMA page_size = 8192; PRAGMA journal_mode = DELETE; PRAGMA synchronous = NORMAL;");
    SQLite::Transaction transaction(db);
    db.exec(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {};", kApplicationId, kVersion));
    db.exec(kSchema);
    transaction.commit();
  }

  void RequireOurs() {
    if (db.execAndGet("PRAGMA application_id").getInt() != kApplicationId)
      throw InputError(path.string() + ": no results of dryrig");
    const int version = db.execAndGet("PRAGMA user_version").getInt();
    if (version > kVersion) {
      throw InputError(
          fmt::format("{}: written by a newer dryrig (schema {}, this one reads {})", path.string(), version, kVersion));
    }
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
};

Store::Store(const fs::path& db, Mode mode) {
  try {
    impl_ = std::make_unique<Impl>(db, mode);
    if (mode == Mode::kCreate)
      impl_->Create();
    else
      impl_->RequireOurs();
  } catch (const SQLite::Exception& error) {
    throw InputError(fmt::format("{}: {}", db.string(), error.what()));
  }
}

Store::~Store() = default;

void Store::Together(const std::function<void()>& writes) {
  SQLite::Savepoint savepoint(impl_->db, "together");
  writes();
  savepoint.release();
}

int64_t Store::WriteTake(const Take& take, bool keep_series, std::optional<int64_t> id) {
  std::vector<Shot> shots;
  std::vector<TakeSeries> series;
  if (keep_series) series = SeriesOfTake(take, &shots);
  const TakeIdentity& who = take.id;
  int64_t row = 0;
  try {
    Together([&] {
      SQLite::Statement insert(impl_->db, "INSERT INTO takes VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
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
  impl_->db.exec("VACUUM");
}

TakeRef ParseTakeRef(const std::string& text) {
  fs::path path = text;
  std::optional<int64_t> id;
  if (const size_t colon = text.rfind(':'); !fs::exists(path) && colon != std::string::npos) {
    int64_t number = 0;
    const char* end = text.data() + text.size();
    const auto parsed = std::from_chars(text.data() + colon + 1, end, number);
    if (parsed.ec != std::errc() || parsed.ptr != end) {
      throw InputError(fmt::format("\"{}\": what follows the colon is no take's number", text));
    }
    id = number;
    path = text.substr(0, colon);
  }
  if (fs::is_directory(path)) path /= "results.db";
  const std::vector<int64_t> ids = Store(path, Store::Mode::kRead).TakeIds();
  if (ids.empty()) throw InputError(fmt::format("{} holds no take", path.string()));
  if (!id && ids.size() > 1) {
    throw InputError(fmt::format("{} holds {} takes; name one: {}:{} to {}:{}", path.string(), ids.size(), path.string(),
                                 ids.front(), path.string(), ids.back()));
  }
  if (id && std::find(ids.begin(), ids.end(), *id) == ids.end()) {
    throw InputError(fmt::format("{}: no take {}; there are {} to {}", path.string(), *id, ids.front(), ids.back()));
  }
  return {path, id.value_or(ids.front())};
}

}  // namespace dryrig
