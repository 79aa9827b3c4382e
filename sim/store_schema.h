#pragma once

#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>

namespace dryrig {

/// Of a results.db, in `PRAGMA user_version`. Version 2 knows which code made a take, and scores by another key.
inline constexpr int kSchemaVersion = 2;

/// A file in which nothing was ever written, as a run leaves it that was killed before its first word.
bool IsBlank(SQLite::Database& db);
/// Makes an empty file one of this version.
void CreateSchema(SQLite::Database& db);
/// The version of a file of ours. @throws InputError for one that is not, or of a newer version.
int RequireSchema(SQLite::Database& db, const std::filesystem::path& path);
/// Makes a file of version `from` one of this version, in one transaction, keeping all that it holds; returns kSchemaVersion.
int MigrateSchema(SQLite::Database& db, int from);

}  // namespace dryrig
