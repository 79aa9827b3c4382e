// Policies from outside the program: loaded, run, and ended where they go wrong, each take alone.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <chrono>
#include <nlohmann/json.hpp>

#include "bench/program.h"
#include "sim/store.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

class Outside : public ::testing::Test {
 protected:
  Outside() { lesson_ = folder_.Write("one.yaml", kShortLesson); }
  Ran Compare(const std::vector<std::string>& policies, std::vector<std::string> more = {},
              const std::string& out = "out") const {
    std::vector<std::string> all{"compare", lesson_, "--policy-library", DRYRIG_BAD_POLICIES, "--out", (folder_ / out).string(),
                                 "--quiet"};
    for (const std::string& policy : policies) all.insert(all.end(), {"--policy", policy});
    all.insert(all.end(), more.begin(), more.end());
    return RunDryrig(all);
  }
  /// The library with one text in it replaced by another of the same length.
  std::string Altered(const std::string& name, const std::string& from, const std::string& to) const {
    std::string bytes = ReadText(DRYRIG_BAD_POLICIES);
    const size_t at = bytes.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return folder_.Write(name, bytes.replace(at, from.size(), to));
  }
  std::string Csv(const std::string& out = "out") const { return ReadText(folder_ / out / "results.csv"); }
  Folder folder_;
  std::string lesson_;
};

TEST_F(Outside, SleeperThrowerAndNanFailByNameAndTheOthersStand) {
  const auto begin = std::chrono::steady_clock::now();
  const Ran ran = Compare({"tripod", "sleeper", "thrower", "nan", "still"}, {"--patience", "2"});
  EXPECT_EQ(ran.code, kNotDone) << ran.err;
  EXPECT_THAT(ran.err,
              AllOf(HasSubstr("3 of 5 takes failed"),
                    HasSubstr("policy sleeper, tick 30 (t = 1.000 s): gave no answer within 2 s of wall clock"),
                    HasSubstr("policy thrower, tick 30 (t = 1.000 s): threw lost my bearings"),
                    HasSubstr("policy nan, tick 30 (t = 1.000 s): target of joint"), HasSubstr("is nan; it must be finite")));
  EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds(60));
  const Ran alone = Compare({"tripod", "still"}, {}, "alone");
  EXPECT_EQ(alone.code, kFine) << alone.err;
  EXPECT_EQ(Csv(), Csv("alone")) << "the takes that went well must be those of a run without the others";
}

TEST_F(Outside, WhatBreaksALimitIsToldWithValueAndLimit) {
  const Ran ran = Compare({"short", "beyond-joint", "beyond-lens", "skewed", "crasher", "quitter"});
  EXPECT_EQ(ran.code, kNotDone);
  EXPECT_THAT(ran.err,
              AllOf(HasSubstr("6 of 6 takes failed"), HasSubstr("joint target has 2 values, and the arm 7 joints"),
                    HasSubstr("is 50 rad, outside its limits ["), HasSubstr("focal length is 500 mm, outside the lens's [")));
  EXPECT_THAT(ran.err, AllOf(HasSubstr("policy skewed, tick 30 (t = 1.000 s): camera target's rotation is not a rotation: its "
                                       "determinant is 8, and must be 1"),
                             HasSubstr("policy crasher, tick 30 (t = 1.000 s): its process ended: "),
                             HasSubstr("its process ended: exit code 7")));
}

TEST_F(Outside, FailedTakesCommandRunsItAloneAndFailsAlike) {
  const Ran ran = RunDryrig(
      {"take", lesson_, "--policy-library", DRYRIG_BAD_POLICIES, "--policy", "thrower", "--out", (folder_ / "x").string()});
  EXPECT_EQ(ran.code, kNotDone);
  EXPECT_THAT(ran.err, HasSubstr("policy thrower, tick 30 (t = 1.000 s): threw lost my bearings"));
  EXPECT_THAT(Compare({"thrower"}).err, HasSubstr(std::string(" --policy-library ") + DRYRIG_BAD_POLICIES));
}

TEST_F(Outside, SameBitsWhateverTheJobsAndTheWallClock) {
  ASSERT_EQ(Compare({"still", "chatterer"}, {"--seeds", "3", "--jobs", "1"}, "one").code, kFine);
  ASSERT_EQ(Compare({"still", "chatterer"}, {"--seeds", "3", "--jobs", "4"}, "four").code, kFine);
  EXPECT_EQ(Csv("one"), Csv("four"));
}

TEST_F(Outside, WhatAPolicyPrintsStaysOutOfTheResults) {
  const Ran ran = Compare({"chatterer"}, {"--json"});
  EXPECT_EQ(ran.code, kFine) << ran.err;
  EXPECT_TRUE(nlohmann::json::accept(ran.out)) << ran.out;
  EXPECT_THAT(ran.err, HasSubstr("a word on standard output"));
}

TEST_F(Outside, ListTellsThemAndParametersAreChecked) {
  const Ran list = RunDryrig({"list", "policies", "--policy-library", DRYRIG_BAD_POLICIES});
  EXPECT_THAT(list.out, AllOf(HasSubstr("with-config: stands, and has a parameter"), HasSubstr("level"), HasSubstr("planner:")));
  const Ran unknown = Compare({"with-config:levle=1"}), far = Compare({"with-config:level=2"}), name = Compare({"stil"});
  EXPECT_EQ(unknown.code, kBadInput);
  EXPECT_THAT(unknown.err, HasSubstr("\"levle\" = 1: no such parameter; did you mean \"level\"?"));
  EXPECT_EQ(far.code, kBadInput);
  EXPECT_THAT(far.err, HasSubstr("level: 2 is outside [0, 1]"));
  EXPECT_EQ(name.code, kBadInput);
  EXPECT_THAT(name.err, HasSubstr("no policy \"stil\"; did you mean \"still\"?"));
}

TEST_F(Outside, AnotherVersionsLibraryIsRefusedWithBothNamed) {
  const std::string other = Altered("other.so", "0.1.0 (interface ", "9.8.7 (interface ");
  const Ran ran = RunDryrig({"list", "policies", "--policy-library", other});
  EXPECT_EQ(ran.code, kBadInput);
  EXPECT_THAT(ran.err,
              AllOf(HasSubstr("other.so: built against Dryrig 9.8.7 (interface "), HasSubstr("and this is 0.1.0 (interface ")));
  const Ran none = RunDryrig({"list", "policies", "--policy-library", lesson_});
  EXPECT_EQ(none.code, kBadInput);
  EXPECT_THAT(none.err, AllOf(HasSubstr("one.yaml: cannot be loaded"), Not(HasSubstr("one.yaml: " + lesson_ + ": "))));
}

TEST_F(Outside, AChangedLibraryFilmsItsTakesAnewAndNoOthers) {
  const auto film = [&](const std::string& library) {
    return RunDryrig({"compare", lesson_, "--policy-library", library, "--policy", "tripod", "--policy", "still", "--out",
                      (folder_ / "out").string(), "--quiet"});
  };
  ASSERT_EQ(film(DRYRIG_BAD_POLICIES).code, kFine);
  EXPECT_THAT(film(DRYRIG_BAD_POLICIES).err, AllOf(HasSubstr("2 of 2 takes are there"), Not(HasSubstr("anew"))));
  const Ran again = film(Altered("new.so", "lost my bearings", "lost my patience"));
  EXPECT_EQ(again.code, kFine) << again.err;
  EXPECT_THAT(again.err, AllOf(HasSubstr("1 of 2 takes are there"), HasSubstr("1 take was made by other code")));
}

TEST_F(Outside, ThinkingTimeIsSimulatedForAnyPolicy) {
  const auto jump = [&](const std::string& policy, const std::string& out) {
    EXPECT_EQ(Compare({policy}, {"--keep-series"}, out).code, kFine);
    const Store store(folder_ / out / "results.db", Store::Mode::kRead);
    const Take take = store.ReadTake(store.TakeIds()[0]);
    // When the camera begins to move.
    for (size_t i = 0; i < take.ticks.size(); ++i) {
      if ((take.ticks[i].q_wish - take.ticks[0].q_wish).norm() > 0) return static_cast<double>(i) / take.id.physics_hz;
    }
    return -1.0;
  };
  const double soon = jump("tripod", "soon"), late = jump("tripod:decision_latency_s=0.5", "late");
  ASSERT_GE(soon, 0);
  // Half a second is 15 control periods, the default one of them: whole periods, so to the tick.
  EXPECT_NEAR(late - soon, 14.0 / 30, 1e-9);
  EXPECT_THAT(Csv("late"), HasSubstr("decision_latency_s=0.5"));
  EXPECT_THAT(Csv("soon"), Not(HasSubstr("decision_latency_s")));
  EXPECT_THAT(Compare({"tripod:decision_latency_s=3"}, {}, "no").err, HasSubstr("decision_latency_s: 3 is outside [0, 2] s"));
}

}  // namespace
}  // namespace dryrig
