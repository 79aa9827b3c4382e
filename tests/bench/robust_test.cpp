// What may happen to a comparison: killed at any moment, a full disk, a scribbled file.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <thread>

#include "bench/program.h"
#include "sim/rng.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::HasSubstr;

std::vector<std::string> Grid(const Folder& folder, const std::string& out) {
  return {"compare", (folder / "short.yaml").string(), "--policy", "tripod", "--policy", "follow", "--seeds", "4", "--jobs", "2",
          "--out",   (folder / out).string()};
}

class Robust : public ::testing::Test {
 protected:
  Robust() { folder_.Write("short.yaml", kShortLesson); }
  Ran Film() const { return RunDryrig(Grid(folder_, "out")); }
  std::filesystem::path Db() const { return folder_ / "out/results.db"; }
  void Shell(const std::string& words) const { ASSERT_EQ(std::system(words.c_str()), 0) << words; }
  Folder folder_;
};

TEST_F(Robust, TwoRunsNeverWriteIntoOneFolder) {
  Child first(Grid(folder_, "out"));
  for (int i = 0; i < 2000 && !std::filesystem::exists(Db()); ++i) std::this_thread::sleep_for(std::chrono::milliseconds(5));
  const Ran second = Film();
  EXPECT_EQ(first.Wait(), kFine) << first.err();
  EXPECT_EQ(second.code, kBadInput);
  EXPECT_THAT(second.err, HasSubstr("another run is writing there"));
}

TEST_F(Robust, WhatIsNoStoreOrANewerOneIsRefusedAndLeftAsItIs) {
  ASSERT_EQ(Film().code, kFine);
  Shell(fmt::format("sqlite3 {} 'PRAGMA user_version = 99'", Db().string()));
  const std::string newer = ReadText(Db());
  for (const std::vector<std::string>& more : {std::vector<std::string>{}, {"--force"}}) {
    std::vector<std::string> arguments = Grid(folder_, "out");
    arguments.insert(arguments.end(), more.begin(), more.end());
    const Ran ran = RunDryrig(arguments);
    EXPECT_EQ(ran.code, kBadInput);
    EXPECT_THAT(ran.err, HasSubstr("written by a newer dryrig (schema 99"));
    EXPECT_TRUE(ReadText(Db()) == newer);
  }
  std::ofstream(Db()) << "scribbled over from the first byte on, as a disk might\n";
  const Ran corrupt = Film();
  EXPECT_EQ(corrupt.code, kBadInput);
  EXPECT_THAT(corrupt.err, HasSubstr("results.db: file is not a database"));
  EXPECT_THAT(ReadText(Db()), HasSubstr("scribbled"));
}

// /sys takes no folder from anyone; whom permissions hold is also refused by a folder of their own that may not be written.
TEST_F(Robust, AReadOnlyFolderIsToldBeforeAnythingIsFilmed) {
  std::filesystem::create_directory(folder_ / "still");
  std::filesystem::permissions(folder_ / "still", std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
  std::vector<std::string> places{"/sys/dryrig-out"};
  if (geteuid() != 0) places.push_back((folder_ / "still/out").string());
  for (const std::string& place : places) {
    std::vector<std::string> arguments = Grid(folder_, "out");
    arguments.back() = place;
    const Ran ran = RunDryrig(arguments);
    EXPECT_EQ(ran.code, kBadInput);
    EXPECT_THAT(ran.err, HasSubstr("--out " + place));
    EXPECT_FALSE(std::filesystem::exists(place));
    EXPECT_THAT(ran.err, ::testing::Not(HasSubstr("1/8"))) << "not even the first take";
  }
}

TEST_F(Robust, ARunKilledBeforeItsFirstWordIsBegunAgain) {
  std::filesystem::create_directory(folder_ / "out");
  std::ofstream(Db()).flush();
  const Ran ran = Film();
  EXPECT_EQ(ran.code, kFine) << ran.err;
}

TEST_F(Robust, AFullDiskIsToldAndWhatWasFinishedIsGoneOnWith) {
  ASSERT_EQ(Film().code, kFine);
  const std::string csv = ReadText(folder_ / "out/results.csv");
  const auto whole = std::filesystem::file_size(Db());
  std::filesystem::remove_all(folder_ / "out");
  // No file may grow beyond three quarters of what all takes need; the signal that would end the program is ignored, so that a
  // write fails as on a full disk.
  std::string command = fmt::format("trap '' XFSZ; ulimit -f {}; {}", whole * 3 / 4 / 512, DRYRIG_PROGRAM);
  for (const std::string& word : Grid(folder_, "out")) command += " " + word;
  const std::string err = (folder_ / "err.txt").string();
  const int code = std::system(fmt::format("{} > /dev/null 2> {}", command, err).c_str());
  EXPECT_EQ(WEXITSTATUS(code), kNotDone) << ReadText(err);
  EXPECT_THAT(ReadText(err), ::testing::AllOf(HasSubstr("results.db"), HasSubstr("could not be written")));
  const Ran resumed = Film();
  EXPECT_EQ(resumed.code, kFine) << resumed.err;
  EXPECT_THAT(resumed.err, HasSubstr("resuming"));
  EXPECT_EQ(ReadText(folder_ / "out/results.csv"), csv);
}

TEST(RobustLong, KilledAtFiftyMomentsAndResumedTheResultsAreThoseOfAnUndisturbedRun) {
  const Folder folder;
  folder.Write("short.yaml", kShortLesson);
  const auto begin = std::chrono::steady_clock::now();
  ASSERT_EQ(RunDryrig(Grid(folder, "whole")).code, kFine);
  double whole_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  const std::string csv = ReadText(folder / "whole/results.csv");
  RandomStream random(1, "moments of killing");
  int killed = 0, nothing_yet = 0, some = 0;
  for (int k = 0; k < 50; ++k) {
    SCOPED_TRACE(k);
    const std::string out = fmt::format("killed-{}", k);
    {
      Child child(Grid(folder, out));
      std::this_thread::sleep_for(std::chrono::duration<double>(whole_s * random.Uniform(0.02, 1)));
      const bool in_time = child.Kill() == 128 + SIGKILL;
      killed += in_time;
      if (!in_time) whole_s *= 0.9;  // other tests that made the first run slow have ended
    }
    const Ran resumed = RunDryrig(Grid(folder, out));
    ASSERT_EQ(resumed.code, kFine) << resumed.err;
    (resumed.err.find("resuming") == std::string::npos ? nothing_yet : some) += 1;
    ASSERT_EQ(ReadText(folder / out / "results.csv"), csv);
    std::filesystem::remove_all(folder / out);
  }
  fmt::print("killed {} of 50 before their end; {} times no take was finished yet, {} times some were\n", killed, nothing_yet,
             some);
  EXPECT_GE(killed, 30);  // most moments are before the end
  EXPECT_GE(some, 15);    // and most of these amid the takes
}

}  // namespace
}  // namespace dryrig
