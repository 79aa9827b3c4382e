// The Python module: policies in Python files, and the environment (tests/bench/environment.py).
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/program.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

constexpr const char* kPolicies = R"(import time
import numpy as np
import dryrig

class Still:
    "stands"
    PARAMS = {"lift": (0.0, -0.5, 0.5, "rad", "of the second joint")}
    def __init__(self, lift=0.0):
        self.lift = lift
    def back_to_one(self, stage, seed):
        self.q = stage["home"].copy()
        self.q[1] += self.lift
    def spoil(self):
        return dryrig.Move(joints=self.q)
    def decide(self, seen):
        return self.spoil() if seen["time"][0] >= 1 else dryrig.Move(joints=self.q)

class Raiser(Still):
    def spoil(self):
        raise ValueError("lost my bearings")
class Nan(Still):
    def spoil(self):
        self.q[0] = np.nan
        return dryrig.Move(joints=self.q)
class Sleeper(Still):
    def spoil(self):
        time.sleep(5)
class Odd(Still):
    def spoil(self):
        return [1, 2, 3]
)";

class Python : public ::testing::Test {
 protected:
  Python() : lesson_(folder_.Write("one.yaml", kShortLesson)), file_(folder_.Write("mine.py", kPolicies)) {}
  std::string Policy(const std::string& type) const { return "python:" + file_ + ":" + type; }
  Ran Compare(const std::vector<std::string>& types, const std::string& out, std::vector<std::string> more = {}) const {
    std::vector<std::string> all{"compare", lesson_, "--quiet", "--out", (folder_ / out).string()};
    for (const std::string& type : types) all.insert(all.end(), {"--policy", Policy(type)});
    all.insert(all.end(), more.begin(), more.end());
    return RunDryrig(all);
  }
  void Check(const std::string& what) const {
    const std::string command = "PYTHONPATH=" DRYRIG_BUILD_DIR "/python " DRYRIG_PYTHON_PROGRAM " " DRYRIG_SOURCE_DIR
                                "/tests/bench/environment.py " +
                                what + " " + lesson_;
    EXPECT_EQ(std::system(command.c_str()), 0) << what;
  }
  Folder folder_;
  std::string lesson_, file_;
};

TEST_F(Python, WhatGoesWrongEndsItsTakeAloneAndIsToldInPythonsWords) {
  const Ran ran = Compare({"Still", "Raiser", "Nan", "Sleeper", "Odd"}, "out", {"--patience", "2"});
  EXPECT_EQ(ran.code, kNotDone) << ran.err;
  EXPECT_THAT(ran.err, AllOf(HasSubstr("4 of 5 takes failed"),
                             HasSubstr("Raiser, tick 30 (t = 1.000 s): raised ValueError: lost my bearings (mine.py:20)"),
                             HasSubstr("is nan; it must be finite"), HasSubstr("gave no answer within 2 s of wall clock")));
  EXPECT_THAT(ran.err, HasSubstr("decide returned list; it must return a dryrig.Move"));
  ASSERT_EQ(Compare({"Still"}, "alone").code, kFine);
  EXPECT_EQ(ReadText(folder_ / "out" / "results.csv"), ReadText(folder_ / "alone" / "results.csv"));
}

TEST_F(Python, ParametersAreCheckedAndAChangedFileIsFilmedAnew) {
  const Ran far = Compare({"Still:lift=1"}, "out");
  EXPECT_EQ(far.code, kBadInput);
  EXPECT_THAT(far.err, HasSubstr("parameter lift: 1 is outside [-0.5, 0.5] rad"));
  ASSERT_EQ(Compare({"Still", "Still:lift=0.2"}, "out").code, kFine);
  EXPECT_THAT(Compare({"Still", "Still:lift=0.2"}, "out").err, HasSubstr("2 of 2 takes are there already"));
  folder_.Write("mine.py", std::string(kPolicies) + "# changed\n");
  EXPECT_THAT(Compare({"Still", "Still:lift=0.2"}, "out").err, HasSubstr("2 takes were made by other code"));
}

TEST_F(Python, ErrorsOfTheFileAreBadInput) {
  EXPECT_THAT(Compare({"Stil"}, "out").err, HasSubstr("mine.py: no class Stil"));
  folder_.Write("mine.py", "import nothing_of_this_name\n");
  const Ran import = Compare({"Still"}, "out");
  EXPECT_EQ(import.code, kBadInput);
  EXPECT_THAT(import.err, HasSubstr("raised ModuleNotFoundError: No module named 'nothing_of_this_name'"));
  const Ran none = RunDryrig({"take", lesson_, "--policy", "python:nowhere.py:Still", "--out", (folder_ / "x").string()});
  EXPECT_EQ(none.code, kBadInput);
  EXPECT_THAT(none.err, HasSubstr("nowhere.py: cannot be read"));
}

TEST_F(Python, EnvironmentFollowsTheConvention) {
  Check("convention");
  EXPECT_FALSE(HasFailure());
}
TEST_F(Python, EnvironmentRepeatsASeedToTheBit) {
  Check("seeds");
  EXPECT_FALSE(HasFailure());
}
TEST_F(Python, FrameValuesAreTheMetricsOwnAndLateOnesComeLate) {
  Check("metrics");
  EXPECT_FALSE(HasFailure());
}
TEST_F(Python, ArraysAreViewsIntoOneBlockThatStays) {
  Check("arrays");
  EXPECT_FALSE(HasFailure());
}
TEST_F(Python, ActionsOutsideTheSpaceAreRefused) {
  Check("refusals");
  EXPECT_FALSE(HasFailure());
}
TEST_F(Python, TwistLeadsTheCamera) {
  Check("twist");
  EXPECT_FALSE(HasFailure());
}

class PythonSpeedLong : public Python {};
TEST_F(PythonSpeedLong, StepsFiftyTimesRealTime) {
  Check("speed");
  EXPECT_FALSE(HasFailure());
}

}  // namespace
}  // namespace dryrig
