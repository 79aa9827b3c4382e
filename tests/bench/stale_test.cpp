// What a results folder holds is gone on with exactly where it still stands.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/code_id.h"
#include "bench/program.h"
#include "sim/store.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class Stale : public ::testing::Test {
 protected:
  Stale() { WriteLesson("one.yaml", "Hello."), WriteLesson("two.yaml", "Hello."); }
  void WriteLesson(const std::string& name, const std::string& says) const {
    std::string text = kShortLesson;
    text.replace(text.find("Hello."), 6, says);
    folder_.Write(name, text);
  }
  Ran Film(const std::string& out, const std::vector<std::string>& more = {}) const {
    std::vector<std::string> arguments{
        "compare", (folder_ / "one.yaml").string(), (folder_ / "two.yaml").string(), "--policy", "tripod", "--policy", "follow",
        "--out",   (folder_ / out).string()};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return RunDryrig(arguments);
  }
  std::filesystem::path Db(const std::string& out) const { return folder_ / out / "results.db"; }
  std::string Csv(const std::string& out) const { return ReadText(folder_ / out / "results.csv"); }
  /// Sets the code that a policy's takes were made by.
  void Age(const std::string& out, const std::string& policy, const std::string& from, const std::string& to) const {
    Store store(Db(out), Store::Mode::kAppend);
    for (const int64_t id : store.TakeIds()) {
      if (store.ReadIdentity(id).policy != policy) continue;
      std::string code = store.ReadCode(id);
      const size_t at = code.find(from);
      ASSERT_NE(at, std::string::npos) << code;
      store.WriteCode(id, code.replace(at, from.size(), to));
    }
  }
  /// All that a store holds, as SQL: its bytes also count transactions.
  std::string Held(const std::string& out) const {
    const std::string file = (folder_ / "dump.sql").string();
    EXPECT_EQ(std::system(fmt::format("sqlite3 {} .dump > {}", Db(out).string(), file).c_str()), 0);
    return ReadText(file);
  }
  Folder folder_;
};

TEST_F(Stale, WhatStandsIsNotFilmedAgain) {
  ASSERT_EQ(Film("out").code, kFine);
  const std::string before = ReadText(Db("out"));
  const Ran again = Film("out");
  EXPECT_EQ(again.code, kFine) << again.err;
  EXPECT_THAT(again.err, AllOf(HasSubstr("4 of 4 takes are there already"), Not(HasSubstr("anew"))));
  EXPECT_TRUE(ReadText(Db("out")) == before);
}

TEST_F(Stale, AChangedLessonFilmsItsTakesAnewAndNoOthers) {
  ASSERT_EQ(Film("out").code, kFine);
  WriteLesson("two.yaml", "Good morning.");
  const Ran again = Film("out");
  EXPECT_EQ(again.code, kFine) << again.err;
  EXPECT_THAT(again.err, AllOf(HasSubstr("2 takes were made from files that have changed"), HasSubstr("resuming: 2 of 4")));
  ASSERT_EQ(Film("fresh").code, kFine);
  EXPECT_EQ(Csv("out"), Csv("fresh"));
  EXPECT_TRUE(Held("out") == Held("fresh")) << "something of the old takes is left";
}

TEST_F(Stale, AChangedPolicyFilmsItsTakesAnewAndNoOthers) {
  ASSERT_EQ(Film("out").code, kFine);
  const std::string whole = Held("out");
  Age("out", "follow", "policy=", "policy=0");
  const Ran again = Film("out");
  EXPECT_EQ(again.code, kFine) << again.err;
  EXPECT_THAT(again.err, AllOf(HasSubstr("2 takes were made by other code"), HasSubstr("resuming: 2 of 4")));
  EXPECT_TRUE(Held("out") == whole);
}

TEST_F(Stale, AChangedSimulatorAndUnknownCodeFilmAllAnew) {
  ASSERT_EQ(Film("out").code, kFine);
  Age("out", "follow", "sim=", "sim=0");
  Store(Db("out"), Store::Mode::kAppend).WriteCode(1, "");
  EXPECT_THAT(Film("out").err, AllOf(HasSubstr("3 takes were made by other code"), HasSubstr("resuming: 1 of 4")));
}

TEST_F(Stale, AChangedMetricScoresAgainWhatIsKeptWhole) {
  ASSERT_EQ(Film("out", {"--keep-series"}).code, kFine);
  const std::string whole = Held("out");
  Age("out", "follow", "metrics=", "metrics=0");
  {
    Store store(Db("out"), Store::Mode::kAppend);
    const int64_t id = store.TakeIds()[1];
    std::vector<StoredScore> scores = store.ReadScores(id);
    scores[0].value = 77;
    store.WriteScores(id, scores);
  }
  const Ran again = Film("out", {"--keep-series"});
  EXPECT_THAT(again.err, AllOf(HasSubstr("2 takes, kept whole, are scored again"), Not(HasSubstr("anew"))));
  EXPECT_TRUE(Held("out") == whole);
  // Without its series there is nothing to score: filmed anew.
  ASSERT_EQ(Film("thin").code, kFine);
  Age("thin", "follow", "metrics=", "metrics=0");
  EXPECT_THAT(Film("thin").err, HasSubstr("2 takes were made by other code"));
}

TEST_F(Stale, AnotherBuildOfTheSameCodeGoesOn) {
  ASSERT_EQ(Film("out").code, kFine);
  const std::string whole = Held("out");
  Store(Db("out"), Store::Mode::kAppend).WriteContext(R"({"version": "0.0.9", "git": "abc"})");
  const Ran again = Film("out");
  EXPECT_EQ(again.code, kFine);
  EXPECT_THAT(again.err, HasSubstr("4 of 4"));
  EXPECT_TRUE(Held("out") == whole);
}

TEST_F(Stale, ATakeFilmedAloneKnowsItsCodeToo) {
  ASSERT_EQ(RunDryrig({"take", (folder_ / "one.yaml").string(), "--policy", "tripod", "--out", (folder_ / "one").string()}).code,
            kFine);
  EXPECT_EQ(Store(Db("one"), Store::Mode::kRead).ReadCode(1), CodeOf("tripod"));
}

TEST(Code, OfTwoPoliciesDiffersInThePolicyAlone) {
  const std::string a = CodeOf("tripod"), b = CodeOf("follow");
  EXPECT_NE(a, b);
  EXPECT_EQ(a.substr(0, a.find("policy=")), b.substr(0, b.find("policy=")));
  EXPECT_FALSE(DifferInMetricsAlone(a, b));
  EXPECT_FALSE(DifferInMetricsAlone(a, a));
  EXPECT_FALSE(DifferInMetricsAlone("", a));
  EXPECT_FALSE(DifferInMetricsAlone("", ""));
  EXPECT_TRUE(DifferInMetricsAlone(a, a + "0"));
}

/// The script that hashes sources, on a tree of its own.
class CodeIds : public ::testing::Test {
 protected:
  CodeIds() {
    for (const char* room : {"scenes", "sim", "metrics", "policies"}) std::filesystem::create_directory(folder_ / room);
    folder_.Write("CMakeLists.txt", "");
    folder_.Write("sim/run.cpp", "int run;\n");
    folder_.Write("scenes/arm.h", "\n");
    folder_.Write("metrics/jerk.cpp", "\n");
    folder_.Write("policies/table.cpp", "    PolicyEntry{\"plain\", 1},\n    PolicyEntry{\"clever\", 2},\n");
    folder_.Write("policies/plain.cpp", "#include \"policies/makers.h\"\n");
    folder_.Write("policies/clever.cpp", "#include \"policies/mind.h\"\n#include \"policies/makers.h\"\n");
    folder_.Write("policies/mind.h", "\n");
    folder_.Write("policies/thought.cpp", "#include \"policies/mind.h\"\n");  // implements mind.h under another name
    folder_.Write("policies/makers.h", "\n");
  }
  /// Which of sim, metrics, plain and clever change when a file does.
  std::string Changed(const std::string& file) const {
    const std::string before = Header(), text = ReadText(folder_ / file);
    folder_.Write(file, text + "// changed\n");
    const std::string now = Header();
    folder_.Write(file, text);
    std::string out;
    for (const char* what : {"kSimCode", "kMetricsCode", "\"plain\"", "\"clever\""}) {
      const auto hash = [&](const std::string& header) {
        return header.substr(header.find('"', header.find(what) + std::string(what).size()), 18);
      };
      if (hash(before) != hash(now)) out += std::string(out.empty() ? "" : " ") + what;
    }
    return out;
  }
  std::string Header() const {
    const std::string command = fmt::format("cmake -DSOURCE={0} -DHEADER={0}/ids.h -DBUILT_BY=x -P {1}/bench/code_ids.cmake",
                                            folder_.path().string(), DRYRIG_SOURCE_DIR);
    EXPECT_EQ(std::system(command.c_str()), 0);
    return ReadText(folder_ / "ids.h");
  }
  Folder folder_;
};

TEST_F(CodeIds, AChangeTouchesExactlyWhatIsMadeOfIt) {
  EXPECT_EQ(Changed("sim/run.cpp"), "kSimCode");
  EXPECT_EQ(Changed("scenes/arm.h"), "kSimCode");
  EXPECT_EQ(Changed("CMakeLists.txt"), "kSimCode");
  EXPECT_EQ(Changed("metrics/jerk.cpp"), "kMetricsCode");
  EXPECT_EQ(Changed("policies/plain.cpp"), "\"plain\"");
  EXPECT_EQ(Changed("policies/clever.cpp"), "\"clever\"");
  EXPECT_EQ(Changed("policies/mind.h"), "\"clever\"");
  EXPECT_EQ(Changed("policies/thought.cpp"), "\"clever\"");
  EXPECT_EQ(Changed("policies/table.cpp"), "\"plain\" \"clever\"");
  EXPECT_EQ(Changed("policies/makers.h"), "\"plain\" \"clever\"");
}

}  // namespace
}  // namespace dryrig
