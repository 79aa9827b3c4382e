// What an installed copy is good for, from a prefix of its own: a policy built against it, the Python module, the examples.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

/// One test, since each would have to install and build anew.
class Installed : public ::testing::Test {
 protected:
  void SetUp() override {
    Ran ran = Shell("cmake --install " DRYRIG_BUILD_DIR " --prefix " + Path("prefix"));
    ASSERT_EQ(ran.code, 0) << ran.err;
    ran = Shell("cmake -S " DRYRIG_SOURCE_DIR "/bench/examples -B " + Path("built") + " -DCMAKE_PREFIX_PATH=" + Path("prefix") +
                " && cmake --build " + Path("built"));
    ASSERT_EQ(ran.code, 0) << ran.out << ran.err;
  }
  std::string Path(const std::string& name) const { return (folder_ / name).string(); }
  std::string Program() const { return Path("prefix") + "/bin/dryrig"; }
  std::string Library() const { return Path("built") + "/steady_hands.so"; }
  static std::string Example(const std::string& name) { return DRYRIG_SOURCE_DIR "/bench/examples/" + name; }
  Ran Shell(const std::string& command) const {
    const std::string out = Path("out.txt"), err = Path("err.txt");
    const int status = std::system(("{ " + command + "; } >" + out + " 2>" + err).c_str());
    return {WIFEXITED(status) ? WEXITSTATUS(status) : 128, ReadText(out), ReadText(err)};
  }
  static size_t Lines(const std::string& text) { return static_cast<size_t>(std::count(text.begin(), text.end(), '\n')); }
  void FindsItsOwnScenes() const;
  void BuildsAndLoadsAPolicyInCpp() const;
  void FilmsWithAPolicyInPython() const;
  void ComparesAndPlots() const;
  void StepsAnEnvironment() const;

  Folder folder_;
};

TEST_F(Installed, CopyRunsPoliciesOfOnesOwnAndTheExamples) {
  FindsItsOwnScenes();
  BuildsAndLoadsAPolicyInCpp();
  FilmsWithAPolicyInPython();
  ComparesAndPlots();
  StepsAnEnvironment();
  EXPECT_TRUE(std::filesystem::exists(Library()));
}

void Installed::FindsItsOwnScenes() const {
  folder_.Write("prefix/share/dryrig/scenes/lessons/only-here.yaml", kShortLesson);
  EXPECT_THAT(Shell(Program() + " list lessons").out, AllOf(HasSubstr("booklet"), HasSubstr("only-here")));
}

void Installed::BuildsAndLoadsAPolicyInCpp() const {
  EXPECT_LT(Lines(ReadText(Example("steady_hands.cpp"))), 80u);
  const std::string lesson = folder_.Write("one.yaml", kShortLesson);
  const Ran ran = Shell(Program() + " compare " + lesson + " --policy-library " + Library() +
                        " --policy steady-hands --policy steady-hands:distance_m=1 --policy tripod --out " + Path("cpp"));
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_THAT(ran.out,
              AllOf(HasSubstr("steady-hands:distance_m=0.75"), HasSubstr("steady-hands:distance_m=1"), HasSubstr("tripod")));
  EXPECT_EQ(Lines(ReadText(Path("cpp") + "/results.csv")), 4u);
}

void Installed::FilmsWithAPolicyInPython() const {
  EXPECT_LT(Lines(ReadText(Example("nearest_hand.py"))), 60u);
  const std::string lesson = folder_.Write("one.yaml", kShortLesson);
  const std::string policy = "python:" + Example("nearest_hand.py") + ":BusyHand";
  const auto film = [&](const std::string& out) {
    return Shell(Program() + " compare " + lesson + " --seeds 2 --policy " + policy + " --policy " + policy +
                 ":distance_m=0.9 --out " + Path(out));
  };
  const Ran one = film("py1"), two = film("py2");
  EXPECT_EQ(one.code, 0) << one.err;
  EXPECT_THAT(one.out, HasSubstr("python:nearest_hand.py:BusyHand"));
  EXPECT_EQ(two.code, 0) << two.err;
  EXPECT_EQ(ReadText(Path("py1") + "/results.csv"), ReadText(Path("py2") + "/results.csv"));
  EXPECT_EQ(Lines(ReadText(Path("py1") + "/results.csv")), 5u);
}

void Installed::ComparesAndPlots() const {
  const Ran ran =
      Shell(DRYRIG_PYTHON_PROGRAM " " + Example("compare_two.py") + " " + Program() + " " + Path("two") + " " + Library());
  EXPECT_EQ(ran.code, 0) << ran.err;
  EXPECT_THAT(ran.out,
              AllOf(HasSubstr("framing_error [tolerances]: "), HasSubstr("python:nearest_hand.py:BusyHand minus steady-hands")));
  const std::string plot = ReadText(Path("two") + "/plot.svg");
  EXPECT_THAT(plot, AllOf(HasSubstr("<polyline points="), HasSubstr("steady-hands")));
  EXPECT_GT(plot.size(), 10'000u) << "two curves of half a minute";
}

void Installed::StepsAnEnvironment() const {
  const std::string program =
      "import dryrig; e = dryrig.Environment('handle', max_s=2); e.reset(seed=3); n = 0\n"
      "while not e.step(e.stage['home'])[3]: n += 1\n"
      "print(n, dryrig.__version__)";
  const Ran ran = Shell("PYTHONPATH=" + Path("prefix") + "/lib/dryrig/python " DRYRIG_PYTHON_PROGRAM " -c \"" + program + "\"");
  EXPECT_EQ(ran.code, 0) << ran.err;
  // Two seconds at 30 Hz hold 60 periods and the tick at 2 s: the 61st step is the last.
  EXPECT_EQ(ran.out, "60 0.1.0\n");
}

}  // namespace
}  // namespace dryrig
