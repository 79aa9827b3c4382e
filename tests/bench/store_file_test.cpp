// results.db as others read it: the documented queries, files of the first version.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/program.h"
#include "sim/store.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

std::string Sqlite(const Folder& folder, const std::string& db, const std::string& sql) {
  const std::string input = folder.Write("in.sql", sql), output = (folder / "out.txt").string();
  const int code = std::system(fmt::format("sqlite3 -bail -separator ' ' {} < {} > {} 2>&1", db, input, output).c_str());
  return (code == 0 ? "" : "FAILED ") + ReadText(output);
}

/// The blocks of SQL in the developers' map, in its order.
std::vector<std::string> DocumentedQueries() {
  const std::string text = ReadText(std::string(DRYRIG_SOURCE_DIR) + "/DEVELOPERS.md"), fence = "```sql\n";
  std::vector<std::string> out;
  for (size_t at = text.find(fence); at != std::string::npos; at = text.find(fence, at + 1))
    out.push_back(text.substr(at + fence.size(), text.find("```", at + 3) - at - fence.size()));
  return out;
}

class StoreFile : public ::testing::Test {
 protected:
  StoreFile() { folder_.Write("short.yaml", kShortLesson); }
  Ran Film(const std::string& out) const {
    return RunDryrig({"compare", (folder_ / "short.yaml").string(), "--policy", "planner", "--policy", "follow", "--seeds", "3",
                      "--out", (folder_ / out).string()});
  }
  std::string Db(const std::string& out) const { return (folder_ / out / "results.db").string(); }
  /// A copy of `from` as the first version wrote it: its tables, word for word, without what came later.
  void MakeOfVersion1(const std::string& from, const std::string& to) const {
    constexpr const char* kVersion1 = R"sql(
PRAGMA page_size = 8192; PRAGMA application_id = 0x44525947; PRAGMA user_version = 1;
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
    std::filesystem::create_directory(folder_ / to);
    std::string sql = std::string(kVersion1) + "ATTACH '" + Db(from) + "' AS new;\n";
    for (const char* table : {"context", "inputs", "take_inputs", "scores", "series"})
      sql += fmt::format("INSERT INTO main.{0} SELECT * FROM new.{0};\n", table);
    sql +=
        "INSERT INTO main.takes SELECT id, lesson, policy, params, arm, bench, person, camera, sensing, seed, physics_hz, "
        "control_hz, "
        "frame_hz, inputs_hash, duration_s, identity, timeline, stage FROM new.takes;\n";
    ASSERT_EQ(Sqlite(folder_, Db(to), sql), "");
  }
  Folder folder_;
};

TEST_F(StoreFile, AnswersTheDocumentedQueriesToSqlite) {
  ASSERT_EQ(Film("out").code, kFine);
  const std::vector<std::string> queries = DocumentedQueries();
  ASSERT_EQ(queries.size(), 3u);
  std::vector<std::string> answers;
  for (const std::string& query : queries) answers.push_back(Sqlite(folder_, Db("out"), query));
  EXPECT_THAT(answers[0], AllOf(HasSubstr("short planner 3 "), HasSubstr("short follow 3 ")));
  EXPECT_THAT(answers[1], AllOf(HasSubstr("short "), Not(HasSubstr("FAILED"))));
  EXPECT_EQ(std::count(answers[1].begin(), answers[1].end(), '\n'), 5);
  EXPECT_EQ(std::count(answers[2].begin(), answers[2].end(), '\n'), 3) << answers[2];
  // The third is what the program computes too: the mean of the three is the difference of the first's means.
  double sum = 0;
  std::istringstream lines(answers[2]);
  for (std::string line; std::getline(lines, line);) sum += std::stod(line.substr(line.rfind(' ') + 1));
  const auto mean = [&](const std::string& policy) {
    const size_t at = answers[0].find(policy + " 3 ");
    return std::stod(answers[0].substr(at + policy.size() + 3));
  };
  EXPECT_NEAR(sum / 3, mean("planner") - mean("follow"), 1e-9);  // sqlite3 prints 15 digits
}

TEST_F(StoreFile, OfTheFirstVersionIsReadWithoutBeingChanged) {
  ASSERT_EQ(Film("new").code, kFine);
  MakeOfVersion1("new", "old");
  const std::string before = ReadText(Db("old"));
  const Store store(Db("old"), Store::Mode::kRead);
  EXPECT_EQ(store.TakeIds().size(), 6u);
  EXPECT_EQ(store.ReadCode(1), "");
  EXPECT_TRUE(store.ReadVariants(1).empty());
  EXPECT_EQ(store.ReadScores(1).size(), Store(Db("new"), Store::Mode::kRead).ReadScores(1).size());
  EXPECT_EQ(RunDryrig({"report", (folder_ / "old").string()}).code, kFine);
  EXPECT_TRUE(ReadText(Db("old")) == before);
}

TEST_F(StoreFile, OfTheFirstVersionIsMergedAndLosesNothing) {
  ASSERT_EQ(Film("new").code, kFine);
  MakeOfVersion1("new", "old");
  const Ran merged = RunDryrig({"merge", (folder_ / "old").string(), "--into", (folder_ / "merged").string()});
  ASSERT_EQ(merged.code, kFine) << merged.err;
  EXPECT_EQ(ReadText(folder_ / "merged/results.csv"), ReadText(folder_ / "new/results.csv"));
  EXPECT_EQ(Sqlite(folder_, Db("merged"), "PRAGMA user_version;"), "2\n");
}

TEST_F(StoreFile, OfTheFirstVersionBecomesOneOfThisWhenWrittenTo) {
  ASSERT_EQ(Film("new").code, kFine);
  MakeOfVersion1("new", "old");
  const std::string all =
      "SELECT * FROM scores ORDER BY take, position; SELECT identity, timeline FROM takes; SELECT * FROM inputs;";
  const std::string before = Sqlite(folder_, Db("old"), all);
  { Store store(Db("old"), Store::Mode::kAppend); }
  EXPECT_EQ(Sqlite(folder_, Db("old"), "PRAGMA user_version;"), "2\n");
  EXPECT_EQ(Sqlite(folder_, Db("old"), all), before);
  // Nobody knows what code made those takes: they are filmed anew.
  const Ran again = Film("old");
  EXPECT_EQ(again.code, kFine);
  EXPECT_THAT(again.err, HasSubstr("6 takes were made by other code"));
  EXPECT_EQ(ReadText(folder_ / "old/results.csv"), ReadText(folder_ / "new/results.csv"));
}

}  // namespace
}  // namespace dryrig
