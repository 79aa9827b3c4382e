#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include "scenes/error.h"
#include "sim/store.h"

namespace dryrig {

namespace {

constexpr const char* kTakeColumns =
    "lesson, policy, params, arm, bench, person, camera, sensing, seed, physics_hz, control_hz, frame_hz, inputs_hash, "
    "duration_s, identity, timeline, stage";
constexpr const char* kVariantColumns = "variant, position, metric, unit, value";
constexpr const char* kScoreColumns = "position, metric, unit, value, worst_t_s, worst_what";
constexpr const char* kSeriesColumns = "position, name, unit, rate_hz, columns, data";

/// Do take `ours` and the other store's take `theirs` differ in a score?
bool ScoresDiffer(SQLite::Database& db, int64_t ours, int64_t theirs) {
  const std::string a = fmt::format("SELECT {} FROM main.scores WHERE take = {}", kScoreColumns, ours);
  const std::string b = fmt::format("SELECT {} FROM other.scores WHERE take = {}", kScoreColumns, theirs);
  const std::string count =
      fmt::format("SELECT (SELECT count(*) FROM ({0} EXCEPT {1})) + (SELECT count(*) FROM ({1} EXCEPT {0}))", a, b);
  return db.execAndGet(count).getInt() > 0;
}

/// `version` is the other store's: the first knew neither code nor variants.
void CopyTake(SQLite::Database& db, int version, int64_t theirs, int64_t as) {
  const char* code = version < 2 ? "''" : "code";
  db.exec(fmt::format("INSERT INTO takes SELECT {}, {}, {} FROM other.takes WHERE id = {}", as, kTakeColumns, code, theirs));
  if (version >= 2) {
    db.exec(fmt::format("INSERT INTO variants SELECT {}, {} FROM other.variants WHERE take = {}", as, kVariantColumns, theirs));
  }
  db.exec(fmt::format("INSERT INTO take_inputs SELECT {}, input FROM other.take_inputs WHERE take = {}", as, theirs));
  db.exec(fmt::format("INSERT INTO scores SELECT {}, {} FROM other.scores WHERE take = {}", as, kScoreColumns, theirs));
  db.exec(fmt::format("INSERT INTO series SELECT {}, {} FROM other.series WHERE take = {}", as, kSeriesColumns, theirs));
}

}  // namespace

size_t AbsorbStore(const std::filesystem::path& into, const std::filesystem::path& other) {
  Store(into, Store::Mode::kAppend);  // both refuse what is not ours; this one migrates too
  Store(other, Store::Mode::kRead);
  size_t copied = 0;
  try {
    SQLite::Database db(into.string(), SQLite::OPEN_READWRITE, 10'000);
    SQLite::Statement attach(db, "ATTACH DATABASE ? AS other");
    attach.bind(1, other.string());
    attach.exec();
    const int version = db.execAndGet("PRAGMA other.user_version").getInt();
    SQLite::Transaction transaction(db);
    db.exec("INSERT OR IGNORE INTO inputs SELECT * FROM other.inputs");
    SQLite::Statement takes(db, "SELECT id, identity, lesson, policy, person FROM other.takes ORDER BY id");
    SQLite::Statement find(db, "SELECT id FROM main.takes WHERE identity = ?");
    while (takes.executeStep()) {
      const int64_t theirs = takes.getColumn(0).getInt64();
      find.reset();
      find.bind(1, takes.getColumn(1).getString());
      if (find.executeStep()) {
        if (!ScoresDiffer(db, find.getColumn(0).getInt64(), theirs)) continue;
        throw InputError(fmt::format("{} and {} hold the take of {} by {} with {} with other scores; they are not of one program",
                                     into.string(), other.string(), takes.getColumn(2).getString(),
                                     takes.getColumn(3).getString(), takes.getColumn(4).getString()));
      }
      const bool taken = db.execAndGet(fmt::format("SELECT count(*) FROM main.takes WHERE id = {}", theirs)).getInt() > 0;
      const int64_t as = taken ? db.execAndGet("SELECT max(id) FROM main.takes").getInt64() + 1 : theirs;
      CopyTake(db, version, theirs, as);
      ++copied;
    }
    find.reset();
    transaction.commit();
  } catch (const SQLite::Exception& error) {
    throw RunError(fmt::format("{} could not be merged into {}: {}", other.string(), into.string(), error.what()));
  }
  return copied;
}

}  // namespace dryrig
