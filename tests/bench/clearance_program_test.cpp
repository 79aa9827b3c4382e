// `dryrig clearance` as a user runs it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "bench/clearance_text.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;

class Clearance : public ::testing::Test {
 protected:
  Clearance() : lesson_(folder_.Write("short.yaml", kShortLesson)) {
    taken_ = RunDryrig({"take", lesson_, "--policy", "tripod", "--out", Path("one")}).code;
  }
  std::string Path(const std::string& name) const { return (folder_ / name).string(); }
  Ran Ask(std::vector<std::string> more) const {
    std::vector<std::string> arguments{"clearance", Path("one")};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return RunDryrig(arguments);
  }
  Folder folder_;
  std::string lesson_;
  int taken_ = -1;
};

/// Who decides, in any output.
auto Cautious() {
  return AllOf(HasSubstr("not a risk assessment"), HasSubstr("robot's manual"), HasSubstr("standards in force"),
               HasSubstr("local codes"), HasSubstr("qualified person"));
}

TEST_F(Clearance, TellsVerdictTermsAndCaution) {
  ASSERT_EQ(taken_, 0);
  const Ran ran = Ask({});
  EXPECT_EQ(ran.code, 0) << ran.out << ran.err;
  EXPECT_THAT(ran.out,
              AllOf(HasSubstr("Verdict under contact-limited: allowed"), HasSubstr("S_h person"), HasSubstr("S_s robot stops"),
                    HasSubstr("Z_d person"), HasSubstr("Nearest:"), HasSubstr("no contact is accepted")));
  EXPECT_THAT(ran.out, Cautious());
}

TEST_F(Clearance, SeparationRefusesBenchWorkAndSaysWhy) {
  const Ran ran = Ask({"--profile", "separation"});
  EXPECT_EQ(ran.code, 1);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("NOT ALLOWED: separation"), HasSubstr("An arm at rest has S_p 0.51 m")));
  EXPECT_THAT(ran.out, Cautious());
}

TEST_F(Clearance, FilesHoldTheSameAndTheCaution) {
  const Ran ran = Ask({"--json", "--out", Path("study")});
  EXPECT_EQ(ran.code, 0) << ran.err;
  const auto json = nlohmann::json::parse(ran.out);
  EXPECT_TRUE(json.at("allowed").get<bool>());
  EXPECT_EQ(json.at("rules").size(), 5u);
  EXPECT_THAT(json.at("caution").get<std::string>(), Cautious());
  EXPECT_EQ(nlohmann::json::parse(ReadText(folder_ / "study/clearance.json")), json);
  const std::string svg = ReadText(folder_ / "study/clearance.svg");
  EXPECT_THAT(svg, AllOf(HasSubstr("distance to person"), HasSubstr("no risk assessment"), HasSubstr("standards in force"),
                         HasSubstr("qualified person")));
  EXPECT_GT(fs::file_size(folder_ / "study/clearance.png"), 10'000u);
}

TEST_F(Clearance, AProfileOfTheUsersOwn) {
  const std::string shipped = ReadText(fs::path(DRYRIG_SOURCE_DIR) / "scenes/profiles/contact-limited.yaml");
  std::string strict = shipped;
  strict.replace(strict.find("enforce: [contact, head, clamping]"), 34, "enforce: [speed]");
  strict.replace(strict.find("speed_m_per_s: 0.25"), 19, "speed_m_per_s: 0.01");
  const std::string file = folder_.Write("own.yaml", strict);
  EXPECT_EQ(RunDryrig({"check", file}).code, 0);
  RunDryrig({"take", lesson_, "--policy", "planner", "--out", Path("moving")});
  const Ran ran = RunDryrig({"clearance", Path("moving"), "--profile", file});
  EXPECT_EQ(ran.code, 1) << ran.err;
  EXPECT_THAT(ran.out, HasSubstr("NOT ALLOWED: speed"));
  const Ran bad = Ask({"--profile", folder_.Write("bad.yaml", "dryrig: profile/1\ntitle: Bad\nenforce: [speeed]\n")});
  EXPECT_EQ(bad.code, 2);
  EXPECT_THAT(bad.err, AllOf(HasSubstr("bad.yaml:3:11"), HasSubstr("did you mean \"speed\"")));
  const Ran unknown = Ask({"--profile", "contact-limitd"});
  EXPECT_EQ(unknown.code, 2);
  EXPECT_THAT(unknown.err, HasSubstr("did you mean \"contact-limited\""));
}

// Results without series are filmed again, and the strictest take is the verdict.
TEST_F(Clearance, JudgesEveryTakeOfAComparison) {
  const Ran compared =
      RunDryrig({"compare", lesson_, "--policy", "tripod", "--policy", "follow", "--quiet", "--out", Path("two")});
  ASSERT_EQ(compared.code, 0) << compared.err;
  const Ran ran = RunDryrig({"clearance", Path("two")});
  EXPECT_EQ(ran.code, 0) << ran.out << ran.err;
  EXPECT_THAT(ran.out, AllOf(HasSubstr("tripod"), HasSubstr("follow"), HasSubstr("verdict")));
  EXPECT_THAT(ran.out, Cautious());
  EXPECT_EQ(RunDryrig({"clearance", Path("two"), "--profile", "separation"}).code, 1);
  EXPECT_EQ(RunDryrig({"clearance", Path("nowhere")}).code, 2);
}

TEST(ClearanceProfiles, AreListed) {
  const Ran ran = RunDryrig({"list", "profiles"});
  EXPECT_EQ(ran.code, 0);
  EXPECT_THAT(ran.out, AllOf(HasSubstr("contact-limited"), HasSubstr("reduced-speed"), HasSubstr("separation")));
}

}  // namespace
}  // namespace dryrig
