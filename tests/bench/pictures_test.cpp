// Pictures as a user asks for them: files, exit codes, and what happens on a machine that cannot draw.
#include "bench/pictures.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>

#include "bench/program.h"
#include "scenes/error.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::StartsWith;

/// For as long as it lives, an environment variable of this process and its children has another value.
class Setting {
 public:
  Setting(const char* name, const std::string& value) : name_(name) {
    if (const char* old = getenv(name)) old_ = old;
    setenv(name, value.c_str(), 1);
  }
  ~Setting() { old_ ? setenv(name_, old_->c_str(), 1) : unsetenv(name_); }
  Setting(const Setting&) = delete;
  Setting& operator=(const Setting&) = delete;

 private:
  const char* name_;
  std::optional<std::string> old_;
};

/// EGL's loader finds no driver.
struct NoDriver {
  Setting none{"__EGL_VENDOR_LIBRARY_FILENAMES", "/dev/null/none.json"};
};

class Pictures : public ::testing::Test {
 protected:
  Pictures() : lesson_(folder_.Write("short.yaml", kShortLesson)) {}
  std::string Path(const std::string& name) const { return (folder_ / name).string(); }
  Ran Take(std::vector<std::string> more) const {
    std::vector<std::string> arguments{"take", lesson_, "--policy", "tripod", "--out", Path("one")};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return RunDryrig(arguments);
  }
  Ran Export(std::vector<std::string> more) const {
    std::vector<std::string> arguments{"export", Path("one")};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return RunDryrig(arguments);
  }
  Ran Compare(const std::string& out, std::vector<std::string> more) const {
    std::vector<std::string> arguments{"compare", lesson_,    "--policy", "tripod",  "--policy", "follow", "--person",
                                       "avery",   "--person", "ellis",    "--quiet", "--out",    Path(out)};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return RunDryrig(arguments);
  }
  Folder folder_;
  std::string lesson_;
};

constexpr const char* kPng = "\x89PNG";

TEST_F(Pictures, ATakeDrawsItsContactSheet) {
  const Ran ran = Take({"--contact-sheet"});
  ASSERT_EQ(ran.code, kFine) << ran.err;
  EXPECT_THAT(ran.err, HasSubstr("contact-sheet.png"));
  EXPECT_THAT(ReadText(folder_ / "one/contact-sheet.png"), StartsWith(kPng));
  ASSERT_EQ(Take({"--force"}).code, kFine);
  EXPECT_FALSE(fs::exists(folder_ / "one/contact-sheet.png")) << "a sheet of a take that is gone";
}

TEST_F(Pictures, AFrameAndAFilmComeOutOfAStoredTake) {
  ASSERT_EQ(Take({}).code, kFine);
  const Ran frame = Export({"--frame", "1.5", "--png", Path("a.png"), "--view", "both", "--size", "320x90"});
  ASSERT_EQ(frame.code, kFine) << frame.err;
  EXPECT_THAT(ReadText(folder_ / "a.png"), StartsWith(kPng));
  const Ran film = Export({"--video", Path("a.mp4"), "--size", "160x90"});
  ASSERT_EQ(film.code, kFine) << film.err;
  EXPECT_THAT(film.err, HasSubstr("frames in"));
  FILE* probe = popen(
      fmt::format("ffprobe -v error -select_streams v -show_entries stream=width,height,duration -of csv=p=0 '{}'", Path("a.mp4"))
          .c_str(),
      "r");
  int width = 0, height = 0;
  double duration_s = 0;
  ASSERT_EQ(std::fscanf(probe, "%d,%d,%lf", &width, &height, &duration_s), 3);
  pclose(probe);
  EXPECT_EQ(width, 160);
  EXPECT_EQ(height, 90);
  const dryrig::Take take = Store(folder_ / "one/results.db", Store::Mode::kRead).ReadTake(1);
  // A frame is shown for a thirtieth of a second, the last one too.
  EXPECT_NEAR(duration_s, take.duration_s, 1.01 / 30);
  EXPECT_NEAR(duration_s * 30, static_cast<double>(take.frames.size()), 0.01);
}

TEST_F(Pictures, BadUsageExitsTwoAndNamesTheMend) {
  ASSERT_EQ(Take({}).code, kFine);
  folder_.Write("there.png", "mine");
  struct Row {
    std::vector<std::string> arguments;
    std::string says;
  };
  const std::vector<Row> rows{
      {{"--frame", "1"}, "--png"},
      {{"--png", Path("a.png")}, "--frame"},
      {{"--frame", "99", "--png", Path("a.png")}, "the take lasts from 0 to"},
      {{"--frame", "-1", "--png", Path("a.png")}, "the take lasts from 0 to"},
      {{"--frame", "1", "--png", Path("there.png")}, "--force"},
      {{"--frame", "1", "--png", Path("none/a.png")}, "no folder"},
      {{"--frame", "1", "--png", Path("a.png"), "--view", "lense"}, "did you mean \"lens\"?"},
      {{"--frame", "1", "--png", Path("a.png"), "--size", "12by9"}, "WIDTHxHEIGHT"},
      {{"--frame", "1", "--png", Path("a.png"), "--size", "1x9000"}, "from 16 to 8192"},
      {{"--video", Path("a.mp4"), "--size", "161x90"}, "even"},
      {{"--video", Path("a.mp4"), "--list"}, "a command of their own"},
      {{"--video", Path("none/a.mp4")}, "no folder"},
  };
  for (const Row& row : rows) {
    const Ran ran = Export(row.arguments);
    EXPECT_EQ(ran.code, kBadInput) << row.says;
    EXPECT_THAT(ran.err, HasSubstr(row.says));
  }
  EXPECT_FALSE(fs::exists(folder_ / "a.png"));
  EXPECT_FALSE(fs::exists(folder_ / "a.mp4"));
  EXPECT_EQ(ReadText(folder_ / "there.png"), "mine");
}

TEST_F(Pictures, WithoutADriverResultsAreKeptAndItIsSaid) {
  const NoDriver none;
  const auto says = AllOf(HasSubstr("no picture can be drawn"), HasSubstr("libgl1-mesa-dri"));
  const Ran take = Take({"--contact-sheet"});
  EXPECT_EQ(take.code, kNotDone);
  EXPECT_THAT(take.err, says);
  EXPECT_TRUE(fs::exists(folder_ / "one/results.db"));
  EXPECT_TRUE(fs::exists(folder_ / "one/scorecard.json"));
  EXPECT_FALSE(fs::exists(folder_ / "one/contact-sheet.png"));
  for (const std::vector<std::string>& wish :
       {std::vector<std::string>{"--frame", "1", "--png", Path("a.png")}, {"--video", Path("a.mp4")}}) {
    const Ran ran = Export(wish);
    EXPECT_EQ(ran.code, kNotDone);
    EXPECT_THAT(ran.err, says);
    EXPECT_FALSE(fs::exists(wish.back()));
  }
  EXPECT_EQ(Export({"--list"}).code, kFine);
  EXPECT_EQ(Take({"--force"}).code, kFine);
  const Ran compare = Compare("two", {"--sheets"});
  EXPECT_EQ(compare.code, kNotDone);
  EXPECT_THAT(compare.err, says);
  EXPECT_TRUE(fs::exists(folder_ / "two/results.csv"));
}

TEST_F(Pictures, WithoutFfmpegItSaysWhichPackageHasIt) {
  ASSERT_EQ(Take({}).code, kFine);
  const Setting path("PATH", folder_.path().string());
  const Ran ran = Export({"--video", Path("a.mp4")});
  EXPECT_EQ(ran.code, kNotDone);
  EXPECT_THAT(ran.err, HasSubstr("package ffmpeg"));
  EXPECT_FALSE(fs::exists(folder_ / "a.mp4"));
}

TEST_F(Pictures, SheetsCompareAndChangeNothingElse) {
  ASSERT_EQ(Compare("plain", {}).code, kFine);
  const Ran one = Compare("one", {"--sheets", "--jobs", "1"});
  ASSERT_EQ(one.code, kFine) << one.err;
  EXPECT_THAT(one.out, HasSubstr("sheet-short.png"));
  const std::string sheet = ReadText(folder_ / "one/sheet-short.png");
  EXPECT_THAT(sheet, StartsWith(kPng));
  EXPECT_EQ(ReadText(folder_ / "plain/results.csv"), ReadText(folder_ / "one/results.csv"));
  EXPECT_TRUE(ReadText(folder_ / "plain/results.db") == ReadText(folder_ / "one/results.db"));
  ASSERT_EQ(Compare("many", {"--sheets", "--jobs", "3"}).code, kFine);
  EXPECT_TRUE(ReadText(folder_ / "many/sheet-short.png") == sheet);
  // Takes that are there already, without and with their series.
  ASSERT_EQ(Compare("plain", {"--sheets"}).code, kFine);
  EXPECT_TRUE(ReadText(folder_ / "plain/sheet-short.png") == sheet);
  ASSERT_EQ(Compare("kept", {"--keep-series"}).code, kFine);
  ASSERT_EQ(Compare("kept", {"--keep-series", "--sheets"}).code, kFine);
  EXPECT_TRUE(ReadText(folder_ / "kept/sheet-short.png") == sheet);
}

TEST(FrameSizes, AreReadOrRefused) {
  EXPECT_EQ(ParseFrameSize("960x540").width, 960);
  EXPECT_EQ(ParseFrameSize("960x540").height, 540);
  for (const char* text : {"", "x", "960", "960x", "x540", "960x540x2", "15x100", "100x9000", "-960x540", "9e2x540"})
    EXPECT_THROW(ParseFrameSize(text), InputError) << text;
}

}  // namespace
}  // namespace dryrig
