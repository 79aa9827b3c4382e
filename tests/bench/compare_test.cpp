// Grids: the same results whatever the order of work, and nothing finished is lost.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <nlohmann/json.hpp>
#include <thread>

#include "bench/program.h"
#include "metrics/metric.h"
#include "scenes/error.h"
#include "sim/store.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;
using Json = nlohmann::json;

class Compare : public ::testing::Test {
 protected:
  Compare() { folder_.Write("short.yaml", kShortLesson); }
  std::vector<std::string> Arguments(const std::string& out, std::vector<std::string> more) const {
    std::vector<std::string> arguments{"compare", (folder_ / "short.yaml").string(), "--out", (folder_ / out).string()};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return arguments;
  }
  Ran Run(const std::string& out, std::vector<std::string> more) const { return RunDryrig(Arguments(out, std::move(more))); }
  std::string Csv(const std::string& out) const { return ReadText(folder_ / out / "results.csv"); }
  size_t Finished(const std::string& out) const {
    try {
      return Store(folder_ / out / "results.db", Store::Mode::kRead).TakeIds().size();
    } catch (const InputError&) {
      return 0;  // not begun
    }
  }
  Folder folder_;
};

const std::vector<std::string> kGrid{"--policy", "tripod", "--policy", "follow", "--person",     "avery",
                                     "--person", "ellis",  "--seeds",  "2",      "--keep-series"};

std::vector<std::string> With(std::vector<std::string> arguments, const std::vector<std::string>& more) {
  arguments.insert(arguments.end(), more.begin(), more.end());
  return arguments;
}

TEST_F(Compare, OneJobAndManyGiveTheSameBytes) {
  const Ran one = Run("one", With(kGrid, {"--jobs", "1"}));
  ASSERT_EQ(one.code, kFine) << one.err;
  const Ran two = Run("two", With(kGrid, {"--jobs", "2"}));
  ASSERT_EQ(two.code, kFine) << two.err;
  const Ran many = Run("many", With(kGrid, {"--jobs", "7"}));
  ASSERT_EQ(many.code, kFine) << many.err;
  const std::string csv = Csv("one");
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 1 + 2 * 2 * 2);
  for (const char* other : {"two", "many"}) {
    SCOPED_TRACE(other);
    EXPECT_EQ(Csv("one"), Csv(other));
    EXPECT_TRUE(ReadText(folder_ / "one/results.db") == ReadText(folder_ / other / "results.db"));
    for (const char* take : {"1", "5", "8"}) {
      const auto series = [&](const std::string& out) {
        return RunDryrig({"export", (folder_ / out / "results.db").string() + ":" + take, "--csv", "-", "--series",
                          "joint_torque", "--series", "framing_error", "--series", "body_points"});
      };
      const Ran ours = series("one");
      EXPECT_EQ(ours.code, kFine) << ours.err;
      EXPECT_TRUE(ours.out == series(other).out) << "take " << take;
    }
  }
}

TEST_F(Compare, TellsPoliciesUnitsDirectionsMarksAndTheFolder) {
  const Ran ran =
      Run("one", {"--policy", "tripod", "--policy", "follow", "--policy", "reference", "--by-lesson", "--all-metrics"});
  ASSERT_EQ(ran.code, kFine) << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("tripod"), HasSubstr("follow"), HasSubstr("k  reference"), HasSubstr("higher"),
                             HasSubstr("tolerances"), HasSubstr("Lesson short"), HasSubstr((folder_ / "one").string()),
                             HasSubstr("not a risk assessment")));
  for (const Metric& metric : Metrics()) EXPECT_THAT(ran.out, HasSubstr(std::string(metric.name)));
}

TEST_F(Compare, JsonHoldsEveryTakeAndTheSummary) {
  const Ran ran = Run("one", {"--policy", "tripod", "--policy", "follow", "--sensing", "good", "--sensing", "poor", "--json"});
  ASSERT_EQ(ran.code, kFine) << ran.err;
  const Json parsed = Json::parse(ran.out);
  EXPECT_EQ(parsed.at("takes").size(), 4u);
  EXPECT_EQ(parsed.at("groups").size(), 2u);
  EXPECT_EQ(parsed.at("groups")[1].at("sensing"), "poor");
  EXPECT_EQ(parsed.at("groups")[1].at("policies")[1].at("policy"), "follow");
  EXPECT_TRUE(parsed.at("failed").empty());
}

TEST_F(Compare, ATakeInAGridIsTheTakeRunAlone) {
  ASSERT_EQ(Run("grid", {"--policy", "tripod", "--policy", "follow", "--seeds", "2"}).code, kFine);
  ASSERT_EQ(RunDryrig({"take", (folder_ / "short.yaml").string(), "--policy", "follow", "--seed", "2", "--out",
                       (folder_ / "alone").string()})
                .code,
            kFine);
  const Store grid(folder_ / "grid/results.db", Store::Mode::kRead), alone(folder_ / "alone/results.db", Store::Mode::kRead);
  const auto id = grid.FindTake(alone.ReadIdentity(1));
  ASSERT_TRUE(id.has_value());
  const auto ours = grid.ReadScores(*id), theirs = alone.ReadScores(1);
  ASSERT_EQ(ours.size(), theirs.size());
  for (size_t i = 0; i < ours.size(); ++i) EXPECT_EQ(ours[i].value, theirs[i].value) << ours[i].metric;
}

TEST_F(Compare, AKilledRunKeepsEveryFinishedTakeAndGoesOn) {
  const std::vector<std::string> grid{"--policy", "tripod", "--policy", "follow", "--seeds", "40", "--jobs", "2"};
  constexpr size_t kTakes = 80;
  {
    Child child(Arguments("killed", grid));
    // Watched from outside by its size: whoever opens the store to look makes its writer wait.
    constexpr uintmax_t kSomeTakes = 32'768;
    uintmax_t begun = 0, now = 0;
    for (int i = 0; i < 20'000 && (begun == 0 || now < begun + kSomeTakes); ++i) {
      std::this_thread::sleep_for(std::chrono::milliseconds(2));
      std::error_code none_yet;
      now = fs::file_size(folder_ / "killed/results.db", none_yet);
      if (none_yet) now = 0;
      if (begun == 0) begun = now;
    }
    ASSERT_EQ(child.Kill(), 128 + SIGKILL) << child.err();
  }
  const size_t after = Finished("killed");
  ASSERT_GE(after, 1u);
  ASSERT_LT(after, kTakes);
  {
    const Store store(folder_ / "killed/results.db", Store::Mode::kRead);
    for (const int64_t id : store.TakeIds())
      EXPECT_EQ(store.ReadScores(id).size(), Metrics().size()) << "take " << id << " has no scores";
  }
  const Ran resumed = Run("killed", grid);
  EXPECT_EQ(resumed.code, kFine) << resumed.err;
  EXPECT_THAT(resumed.err, HasSubstr(fmt::format("resuming: {} of {} takes are there already", after, kTakes)));
  ASSERT_EQ(Run("whole", grid).code, kFine);
  EXPECT_EQ(Csv("killed"), Csv("whole"));
  EXPECT_TRUE(ReadText(folder_ / "killed/results.db") == ReadText(folder_ / "whole/results.db"));
}

TEST_F(Compare, ALargerGridKeepsWhatIsThere) {
  ASSERT_EQ(Run("one", {"--policy", "follow", "--seeds", "2"}).code, kFine);
  const Ran more = Run("one", {"--policy", "tripod", "--policy", "follow", "--seeds", "3"});
  EXPECT_EQ(more.code, kFine) << more.err;
  EXPECT_THAT(more.err, HasSubstr("resuming: 2 of 6"));
  ASSERT_EQ(Run("two", {"--policy", "tripod", "--policy", "follow", "--seeds", "3"}).code, kFine);
  EXPECT_EQ(Csv("one"), Csv("two"));
}

TEST_F(Compare, SeriesAskedForLaterAreNotSilentlyMissing) {
  ASSERT_EQ(Run("one", {"--policy", "follow"}).code, kFine);
  const Ran refused = Run("one", {"--policy", "follow", "--keep-series"});
  EXPECT_EQ(refused.code, kBadInput);
  EXPECT_THAT(refused.err, HasSubstr("without their series"));
  const Ran score = RunDryrig({"score", (folder_ / "one").string()});
  EXPECT_EQ(score.code, kBadInput);
  EXPECT_THAT(score.err, HasSubstr("--keep-series"));
}

}  // namespace
}  // namespace dryrig
