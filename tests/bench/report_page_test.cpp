// The report in a browser, as its reader uses it.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/program.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::Not;

class ReportPageLong : public ::testing::Test {
 protected:
  ReportPageLong() {
    const std::string suite = folder_.Write(
        "suite.yaml",
        fmt::format("dryrig: suite/1\ntitle: A page's own test\nlessons: [{}]\npolicies: [tripod, follow, planner]\n"
                    "people: [avery, ellis]\nvariants:\n  - {{shift_s: 0.5}}\n"
                    "primary:\n  - {{metric: framing_error, policy: planner, against: tripod}}\n",
                    folder_.Write("short.yaml", std::string(kShortLesson) + "  - pause: {for_s: 6}\n")));
    const std::string out = (folder_ / "out").string();
    filmed_ = RunDryrig({"compare", suite, "--out", out});
    report_ = RunDryrig({"report", out, "--take", "2"});
  }
  /// What the browser found, and its exit code.
  std::string Used(const std::string& page) const {
    const std::string file = (folder_ / "used.txt").string();
    const int code = std::system(fmt::format("/usr/bin/python3 {}/tests/bench/report_page.py {} {} > {} 2>&1", DRYRIG_SOURCE_DIR,
                                             page, folder_.path().string(), file)
                                     .c_str());
    return ReadText(file) + fmt::format("exit {}", WEXITSTATUS(code));
  }
  Folder folder_;
  Ran filmed_, report_;
};

TEST_F(ReportPageLong, LoadsSortsFiltersHoversPlaysPrintsAndFitsAPhone) {
  ASSERT_EQ(filmed_.code, kFine) << filmed_.err;
  ASSERT_EQ(report_.code, kFine) << report_.err;
  EXPECT_THAT(Used((folder_ / "out/report.html").string()),
              AllOf(HasSubstr("exit 0"), HasSubstr("ok   it plays"), Not(HasSubstr("FAIL"))));
}

TEST_F(ReportPageLong, ABrokenPageIsFoundOut) {
  std::string page = ReadText(folder_ / "out/report.html");
  const auto replace = [&page](const std::string& from, const std::string& to) {
    const size_t at = page.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    page.replace(at, from.size(), to);
  };
  replace("sort.up ? 1 : -1", "1");                                               // sorts one way alone
  replace("<h2>Takes</h2>", "<h2>Takes</h2><p style=\"width: 900px\">wide</p>");  // sticks out of a phone's width
  replace("drawRankings();", "drawRankings(); console.error(\"planted\");");
  replace("<input id=\"find\"", "<input tabindex=\"-1\" id=\"find\"");
  EXPECT_THAT(
      Used(folder_.Write("broken.html", page)),
      AllOf(HasSubstr("exit 1"), HasSubstr("FAIL pressed again it sorts the other way"), HasSubstr("FAIL nothing sticks out"),
            HasSubstr("FAIL the console has no error"), HasSubstr("FAIL everything can be reached by the keyboard")));
}

}  // namespace
}  // namespace dryrig
