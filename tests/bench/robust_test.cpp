// What may happen to a comparison: killed at any moment, another processor.
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

TEST(RobustLong, KilledAtFiftyMomentsAndResumedTheResultsAreThoseOfAnUndisturbedRun) {
  const Folder folder;
  folder.Write("short.yaml", kShortLesson);
  const auto begin = std::chrono::steady_clock::now();
  ASSERT_EQ(RunDryrig(Grid(folder, "whole")).code, kFine);
  const double whole_s = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  const std::string csv = ReadText(folder / "whole/results.csv");
  RandomStream random(1, "moments of killing");
  int killed = 0, nothing_yet = 0, some = 0;
  for (int k = 0; k < 50; ++k) {
    SCOPED_TRACE(k);
    const std::string out = fmt::format("killed-{}", k);
    {
      Child child(Grid(folder, out));
      std::this_thread::sleep_for(std::chrono::duration<double>(whole_s * random.Uniform(0.02, 1)));
      killed += child.Kill() == 128 + SIGKILL;
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

TEST(RobustLong, ABaselineOfOneProcessorPassesOnAnotherWhoseMathematicsDiffers) {
  const Folder folder;
  const auto smoke = [&](const std::string& out) {
    return RunDryrig({"compare", "smoke", "--out", (folder / out).string(), "--quiet"});
  };
  ASSERT_EQ(smoke("here").code, kFine);
  // glibc chooses among its sines and exponentials by what the processor can; told that it cannot, it takes the plain ones.
  setenv("GLIBC_TUNABLES", "glibc.cpu.hwcaps=-FMA,-FMA4,-AVX2,-AVX2_Usable,-FMA_Usable,-AVX512F", 1);
  const Ran there = smoke("there");
  unsetenv("GLIBC_TUNABLES");
  ASSERT_EQ(there.code, kFine) << there.err;
  const std::string baseline = (folder / "base.csv").string();
  ASSERT_EQ(RunDryrig({"gate", baseline, (folder / "here").string(), "--accept", "--reason", "test"}).code, kFine);
  const Ran gate = RunDryrig({"gate", baseline, (folder / "there").string()});
  EXPECT_EQ(gate.code, kFine) << gate.out << gate.err;
  fmt::print("results.csv of the two: {}\n", ReadText(folder / "here/results.csv") == ReadText(folder / "there/results.csv")
                                                 ? "the same bytes, so this processor shows no difference"
                                                 : "other digits");
}

}  // namespace
}  // namespace dryrig
