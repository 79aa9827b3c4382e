#include "sim/store_schema.h"

#include <fmt/format.h>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr int kApplicationId = 0x44525947;  // "DRYG"

// Tables without a rowid keep their order by key, so that the order of writing leaves no trace.
constexpr const char* kSchema = R"sql(
CREATE TABLE context(key TEXT PRIMARY KEY, json TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE inputs(hash TEXT PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, text TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE takes(
  id INTEGER PRIMARY KEY,
  lesson TEXT NOT NULL, policy TEXT NOT NULL, params TEXT NOT NULL, arm TEXT NOT NULL, bench TEXT NOT NULL, person TEXT NOT NULL,
  camera TEXT NOT NULL, sensing TEXT NOT NULL, seed INTEGER NOT NULL, physics_hz REAL NOT NULL, control_hz REAL NOT NULL,
  frame_hz REAL NOT NULL, inputs_hash TEXT NOT NULL, duration_s REAL NOT NULL,
  identity TEXT NOT NULL UNIQUE, timeline TEXT NOT NULL, stage TEXT, code TEXT NOT NULL DEFAULT '');
CREATE TABLE take_inputs(take INTEGER NOT NULL REFERENCES takes(id), input TEXT NOT NULL REFERENCES inputs(hash),
  PRIMARY KEY(take, input)) WITHOUT ROWID;
CREATE TABLE scores(take INTEGER NOT NULL REFERENCES takes(id), position INTEGER NOT NULL, metric TEXT NOT NULL, unit TEXT NOT NULL,
  value REAL, worst_t_s REAL, worst_what TEXT NOT NULL, PRIMARY KEY(take, position)) WITHOUT ROWID;
CREATE TABLE series(take INTEGER NOT NULL REFERENCES takes(id), position INTEGER NOT NULL, name TEXT NOT NULL, unit TEXT NOT NULL,
  rate_hz REAL NOT NULL, columns TEXT NOT NULL, data BLOB NOT NULL, PRIMARY KEY(take, position)) WITHOUT ROWID;
)sql";

// Scores by another key. `variant` says what was changed.
constexpr const char* kVariantsTable = R"sql(
CREATE TABLE variants(take INTEGER NOT NULL REFERENCES takes(id), variant TEXT NOT NULL, position INTEGER NOT NULL,
  metric TEXT NOT NULL, unit TEXT NOT NULL, value REAL, PRIMARY KEY(take, variant, position)) WITHOUT ROWID;
)sql";

}  // namespace

bool IsBlank(SQLite::Database& db) {
  return db.execAndGet("PRAGMA application_id").getInt() == 0 &&
         db.execAndGet("SELECT count(*) FROM sqlite_master").getInt() == 0;
}

void CreateSchema(SQLite::Database& db) {
  // The rollback journal, not a write-ahead log: one file at rest, readable from a folder that cannot be written.
  db.exec("PRAGMA page_size = 8192; PRAGMA journal_mode = DELETE; PRAGMA synchronous = NORMAL;");
  SQLite::Transaction transaction(db);
  db.exec(fmt::format("PRAGMA application_id = {}; PRAGMA user_version = {};", kApplicationId, kSchemaVersion));
  db.exec(kSchema);
  db.exec(kVariantsTable);
  transaction.commit();
}

int RequireSchema(SQLite::Database& db, const std::filesystem::path& path) {
  if (db.execAndGet("PRAGMA application_id").getInt() != kApplicationId)
    throw InputError(path.string() + ": no results of dryrig");
  const int version = db.execAndGet("PRAGMA user_version").getInt();
  if (version > kSchemaVersion) {
    throw InputError(
        fmt::format("{}: written by a newer dryrig (schema {}, this one reads {})", path.string(), version, kSchemaVersion));
  }
  if (version < 1) throw InputError(fmt::format("{}: schema {} is none of dryrig's", path.string(), version));
  return version;
}

int MigrateSchema(SQLite::Database& db, int from) {
  if (from < 2) {
    SQLite::Transaction transaction(db);
    db.exec("ALTER TABLE takes ADD COLUMN code TEXT NOT NULL DEFAULT ''");
    db.exec(kVariantsTable);
    db.exec("PRAGMA user_version = 2");
    transaction.commit();
  }
  return kSchemaVersion;
}

}  // namespace dryrig
