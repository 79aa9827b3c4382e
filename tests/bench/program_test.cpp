// The program as a user runs it: exit codes, messages, what it writes and where.
#include "bench/program.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "metrics/metric.h"
#include "policies/table.h"
#include "scenes/catalogue.h"
#include "sim/store.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;
using ::testing::StartsWith;
using Json = nlohmann::json;

std::vector<std::string> FilesUnder(const fs::path& folder) {
  std::vector<std::string> out;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) out.push_back(fs::relative(entry.path(), folder).string());
  std::sort(out.begin(), out.end());
  return out;
}

TEST(Program, BadUsageExitsTwoNamesTheMendAndWritesNothing) {
  const Folder folder;
  const std::string lesson = folder.Write("short.yaml", kShortLesson);
  const std::string broken = folder.Write("broken.yaml", "dryrig: lesson/1\ntitle: [unclosed\n");
  const std::string urdf = folder.Write("arm.urdf", "<robot name='x'><link name='only'/></robot>");
  const std::string text = folder.Write("text.txt", "no kind\n");
  const std::string wrong_kind = folder.Write("kind.yaml", "dryrig: lessen/1\n");
  const std::string not_ours = folder.Write(
      "not-ours.db", "a text, and no database by any means, long enough for a header of one hundred bytes, I should hope so\n");
  fs::create_directory(folder / "other");
  folder.Write("other/results.db",
               "not ours either, and long enough to be read as the header of a database file, one hundred bytes or so\n");
  const std::string out = (folder / "out").string();
  struct Row {
    std::vector<std::string> arguments;
    std::string says;
  };
  const std::vector<Row> rows{
      {{}, "Usage"},
      {{"tkae"}, "no command \"tkae\"; did you mean \"take\"?"},
      {{"--nonsense"}, "--nonsense"},
      {{"take"}, "lesson is required"},
      {{"take", lesson, "--out", out}, "name one with --policy, or a file of parameters with --params"},
      {{"take", lesson, "--policy", "follow"}, "--out is required"},
      {{"take", lesson, "--policy", "follow", "--out", out, "--what"}, "--what"},
      {{"take", lesson, "--policy", "follow", "--out", out, "--seed", "-1"}, "--seed"},
      {{"take", lesson, "--policy", "follow", "--out", out, "--seed", "many"}, "--seed"},
      {{"take", lesson, "--policy", "follow", "--out", out, "--seed", "18446744073709551616"}, "--seed"},
      {{"take", "bookelt", "--policy", "follow", "--out", out}, "did you mean \"booklet\"?"},
      {{"take", broken, "--policy", "follow", "--out", out}, "broken.yaml:"},
      {{"take", lesson, "--policy", "folow", "--out", out}, "no policy \"folow\"; did you mean \"follow\"?"},
      {{"take", lesson, "--policy", "follow", "--set", "no_such=1", "--out", out}, "no_such"},
      {{"take", lesson, "--policy", "follow", "--set", "gain", "--out", out}, "expected key=value"},
      {{"take", lesson, "--policy", "follow:gain=x", "--out", out}, "expected key=value"},
      {{"take", lesson, "--policy", "follow", "--arm", "reeed", "--out", out}, "did you mean \"reed\"?"},
      {{"take", lesson, "--policy", "follow", "--arm", urdf, "--out", out}, "joint"},
      {{"take", lesson, "--policy", "follow", "--person", "averi", "--out", out}, "did you mean \"avery\"?"},
      {{"take", lesson, "--policy", "follow", "--camera", "primo", "--out", out}, "did you mean \"prime\"?"},
      {{"take", lesson, "--policy", "follow", "--sensing", "goood", "--out", out}, "did you mean \"good\"?"},
      {{"take", lesson, "--policy", "follow", "--bench", "study-tabel", "--out", out}, "did you mean \"study-table\"?"},
      {{"take", lesson, "--policy", "follow", "--physics-hz", "100", "--out", out}, "outside [120, 1000]"},
      {{"take", lesson, "--policy", "follow", "--physics-hz", "250", "--out", out}, "whole multiple"},
      {{"take", lesson, "--policy", "follow", "--physics-hz", "nan", "--out", out}, "physics"},
      {{"take", lesson, "--policy", "follow", "--out", lesson}, "is not a folder"},
      {{"take", lesson, "--policy", "follow", "--out", ""}, "--out"},
      {{"take", lesson, "--policy", "follow", "--out", "/proc/dryrig"}, "/proc"},
      {{"compare", lesson, "--policy", "follow", "--policy", "nobody", "--out", out}, "no policy \"nobody\""},
      {{"compare", lesson, "nothing-like-it", "--policy", "follow", "--out", out}, "nothing-like-it"},
      {{"compare", lesson, "--policy", "follow", "--policy", "follow", "--out", out}, "holds a take twice"},
      {{"compare", lesson, "--policy", "follow", "--seeds", "0", "--out", out}, "--seeds"},
      {{"compare", lesson, "--policy", "follow", "--jobs", "0", "--out", out}, "--jobs"},
      {{"compare", lesson, "--policy", "follow", "--floor", "1.5", "--out", out}, "--floor"},
      {{"compare", lesson, "--policy", "follow", "--out", (folder / "other").string()}, "not a database"},
      {{"score", out}, "no such file"},
      {{"score", not_ours}, "not a database"},
      {{"export", out, "--list"}, "no such file"},
      {{"export", out}, "--csv"},
      {{"export", out, "--csv", lesson}, "--force"},
      {{"export", out, "--csv", out + "/none/x.csv"}, "no folder"},
      {{"check"}, "files is required"},
      {{"check", broken}, "broken.yaml:"},
      {{"check", text}, "dryrig: KIND/1"},
      {{"check", wrong_kind}, "did you mean \"lesson\"?"},
      {{"check", out}, "no such file"},
      {{"check", folder.path().string()}, "is a folder"},
      {{"list"}, "what is required"},
      {{"list", "polices"}, "did you mean \"policies\"?"},
  };
  const std::vector<std::string> before = FilesUnder(folder.path());
  for (const Row& row : rows) {
    SCOPED_TRACE(fmt::format("dryrig {}", fmt::join(row.arguments, " ")));
    const Ran ran = RunDryrig(row.arguments);
    EXPECT_EQ(ran.code, kBadInput);
    EXPECT_THAT(ran.err, HasSubstr(row.says));
    EXPECT_EQ(FilesUnder(folder.path()), before);
    fs::remove_all(out);
  }
}

TEST(Program, HelpAndVersionExitZero) {
  for (const std::vector<std::string>& arguments : {std::vector<std::string>{"--help"},
                                                    {"--version"},
                                                    {"take", "--help"},
                                                    {"compare", "--help"},
                                                    {"score", "-h"},
                                                    {"export", "-h"},
                                                    {"check", "-h"},
                                                    {"list", "-h"}}) {
    SCOPED_TRACE(arguments.front());
    const Ran ran = RunDryrig(arguments);
    EXPECT_EQ(ran.code, kFine);
    EXPECT_THAT(ran.err, IsEmpty());
    const char* expected = arguments.front() == "--version" ? "Bullet"
                           : arguments.front() == "--help"  ? "First steps"
                                                            : "Example";
    EXPECT_THAT(ran.out, HasSubstr(expected));
  }
}

TEST(Check, ABrokenLessonGivesLineAndColumnAndEveryBadFileIsTold) {
  const Folder folder;
  const std::string bad_key = folder.Write("key.yaml", std::string(kShortLesson) + "  - pont: {at: cup, for_s: 2}\n");
  const std::string good = folder.Write("good.yaml", kShortLesson);
  const std::string bad_prop = folder.Write("prop.yaml", std::string(kShortLesson) + "  - point: {at: cupp, for_s: 2}\n");
  const Ran ran = RunDryrig({"check", bad_key, good, bad_prop});
  EXPECT_EQ(ran.code, kBadInput);
  EXPECT_THAT(ran.err, AllOf(HasSubstr(bad_key + ":12:"), HasSubstr("point"), HasSubstr(bad_prop + ":12:"), HasSubstr("cup")));
  EXPECT_THAT(ran.out, HasSubstr("A short lesson for tests"));
}

TEST(Check, ALessonIsTriedWithItsBenchAndPerson) {
  const Folder folder;
  const auto replaced = [](const std::string& from, const std::string& to) {
    std::string text = kShortLesson;
    return text.replace(text.find(from), from.size(), to);
  };
  const Ran person = RunDryrig({"check", folder.Write("a.yaml", replaced("person: avery", "person: nobody-at-all"))});
  EXPECT_EQ(person.code, kBadInput);
  EXPECT_THAT(person.err, HasSubstr("nobody-at-all"));
  const Ran fits = RunDryrig({"check", folder.Write("b.yaml", replaced("at_mm: [80, 230]", "at_mm: [1200, 230]"))});
  EXPECT_EQ(fits.code, kBadInput);
  EXPECT_THAT(fits.err, HasSubstr("cup"));
}

TEST(Check, EveryShippedFileIsGood) {
  for (const SceneKind kind :
       {SceneKind::kLesson, SceneKind::kArm, SceneKind::kBench, SceneKind::kCamera, SceneKind::kPerson, SceneKind::kSensing}) {
    std::vector<std::string> arguments{"check"};
    for (const std::string& name : ListScenes(kind)) arguments.push_back(FindScene(kind, name).string());
    ASSERT_GT(arguments.size(), 1u) << ToString(kind);
    const Ran ran = RunDryrig(arguments);
    EXPECT_EQ(ran.code, kFine) << ran.err;
    EXPECT_THAT(ran.out, StartsWith(std::string(ToString(kind)) + " "));
  }
}

TEST(List, NamesEverythingInTextAndJson) {
  for (const auto& [what, name] :
       {std::pair("policies", std::string(Policies()[0].name)), std::pair("metrics", std::string("framing_error")),
        std::pair("lessons", std::string("booklet")), std::pair("arms", ListScenes(SceneKind::kArm).front()),
        std::pair("people", std::string("avery")), std::pair("cameras", std::string("prime")),
        std::pair("benches", std::string("study-table")), std::pair("sensing", std::string("poor"))}) {
    SCOPED_TRACE(what);
    const Ran text = RunDryrig({"list", what});
    EXPECT_EQ(text.code, kFine) << text.err;
    EXPECT_THAT(text.out, HasSubstr(name));
    const Ran json = RunDryrig({"list", what, "--json"});
    const Json parsed = Json::parse(json.out);
    EXPECT_TRUE(std::any_of(parsed.begin(), parsed.end(), [&name = name](const Json& one) { return one.at("name") == name; }));
  }
  const Json policies = Json::parse(RunDryrig({"list", "policies", "--json"}).out);
  ASSERT_EQ(policies.size(), Policies().size());
  for (const Json& policy : policies) {
    for (const Json& param : policy.at("params")) {
      EXPECT_LE(param.at("lo").get<double>(), param.at("default").get<double>()) << param;
      EXPECT_LE(param.at("default").get<double>(), param.at("hi").get<double>()) << param;
    }
  }
}

TEST(List, LessonsHaveLengthBeatsCraftSetAndWhatTheyAreHardFor) {
  const Json lessons = Json::parse(RunDryrig({"list", "lessons", "--json"}).out);
  const std::string text = RunDryrig({"list", "lessons"}).out;
  int tests = 0;
  for (const Json& lesson : lessons) {
    SCOPED_TRACE(lesson.at("name").get<std::string>());
    EXPECT_GT(lesson.at("length_s").get<double>(), 60);
    EXPECT_GE(lesson.at("beats").get<int>(), 18);
    EXPECT_GE(lesson.at("intents").get<int>(), 8);
    for (const char* key : {"name", "craft", "set"}) EXPECT_THAT(text, HasSubstr(lesson.at(key).get<std::string>()));
    tests += lesson.at("set") == "test";
  }
  EXPECT_EQ(tests, 2);
  EXPECT_THAT(text, HasSubstr("Hard for"));
}

TEST(List, IntentsAreALessonsShotList) {
  const Json intents = Json::parse(RunDryrig({"list", "intents", "seedling", "--json"}).out);
  ASSERT_GE(intents.size(), 8u);
  double before = 0;
  for (const Json& intent : intents) {
    EXPECT_GE(intent.at("start_s").get<double>(), before);
    before = intent.at("end_s").get<double>();
  }
  EXPECT_EQ(intents[0].at("action"), "address the camera");
  EXPECT_EQ(intents[0].at("subjects"), Json({"face"}));
  EXPECT_EQ(intents[0].at("beat"), 1);
  const Ran text = RunDryrig({"list", "intents", "seedling"});
  EXPECT_THAT(text.out, AllOf(HasSubstr("by devon at workshop-bench"), HasSubstr("hands + prop:pot"), HasSubstr("overhead")));
  EXPECT_EQ(RunDryrig({"list", "intents"}).code, kBadInput);
  EXPECT_THAT(RunDryrig({"list", "intents", "seedlin"}).err, HasSubstr("did you mean \"seedling\"?"));
  EXPECT_THAT(RunDryrig({"list", "arms", "seedling"}).err, HasSubstr("leave it out"));
}

class TakeProgram : public ::testing::Test {
 protected:
  static Ran Film(const Folder& folder, const std::string& out, std::vector<std::string> more = {}) {
    std::vector<std::string> arguments{"take",  (folder / "short.yaml").string(), "--policy", "follow",
                                       "--out", (folder / out).string()};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return RunDryrig(arguments);
  }
  TakeProgram() { folder_.Write("short.yaml", kShortLesson); }
  Folder folder_;
};

TEST_F(TakeProgram, PrintsEveryMetricFiniteOrNullWithWhatItWasMadeFrom) {
  const Ran ran = Film(folder_, "one", {"--json"});
  ASSERT_EQ(ran.code, kFine) << ran.err;
  EXPECT_EQ(FilesUnder(folder_.path()),
            (std::vector<std::string>{"one", "one/results.db", "one/scorecard.json", "one/timeline.svg", "short.yaml"}));
  EXPECT_EQ(ran.out, ReadText(folder_ / "one/scorecard.json"));
  const Json card = Json::parse(ran.out);
  for (const char* key : {"version", "git", "compiler", "bullet", "build", "program"})
    EXPECT_THAT(card.at("context").at(key).get<std::string>(), Not(IsEmpty())) << key;
  EXPECT_EQ(card.at("take").at("seed"), 1);
  EXPECT_EQ(card.at("inputs").size(), 6u);
  ASSERT_EQ(card.at("scores").size(), Metrics().size());
  int measured = 0;
  for (size_t i = 0; i < Metrics().size(); ++i) {
    const Json& score = card.at("scores")[i];
    EXPECT_EQ(score.at("metric"), Metrics()[i].name);
    EXPECT_TRUE(score.at("value").is_null() || std::isfinite(score.at("value").get<double>())) << score;
    measured += score.at("value").is_number();
  }
  EXPECT_GT(measured, 20);
  EXPECT_THAT(card.at("caution").get<std::string>(), HasSubstr("not a risk assessment"));
}

TEST_F(TakeProgram, PrintsATableWithUnitsAndTheCautionForPeople) {
  const Ran ran = Film(folder_, "one");
  ASSERT_EQ(ran.code, kFine) << ran.err;
  for (const Metric& metric : Metrics()) EXPECT_THAT(ran.out, HasSubstr(std::string(metric.name)));
  EXPECT_THAT(ran.out,
              AllOf(HasSubstr("worst moment"), HasSubstr("m/s³"), HasSubstr("higher"), HasSubstr("not a risk assessment")));
}

TEST_F(TakeProgram, ScoringTheStoredTakeGivesTheSameCardToTheLastDigit) {
  const Ran take = Film(folder_, "one", {"--json"});
  ASSERT_EQ(take.code, kFine) << take.err;
  const Ran score = RunDryrig({"score", (folder_ / "one").string(), "--json"});
  EXPECT_EQ(score.code, kFine) << score.err;
  EXPECT_EQ(Json::parse(score.out).at("scores"), Json::parse(take.out).at("scores"));
  EXPECT_THAT(score.err, HasSubstr("equal to the stored scorecard"));
}

TEST_F(TakeProgram, AStoredScoreThatWasChangedIsFoundOut) {
  ASSERT_EQ(Film(folder_, "one").code, kFine);
  Store store(folder_ / "one/results.db", Store::Mode::kAppend);
  std::vector<StoredScore> scores = store.ReadScores(1);
  const auto jerk = std::find_if(scores.begin(), scores.end(), [](const StoredScore& score) { return score.metric == "jerk"; });
  jerk->value = std::nextafter(*jerk->value, 1e9);
  store.WriteScores(1, scores);
  const Ran score = RunDryrig({"score", (folder_ / "one").string()});
  EXPECT_EQ(score.code, kNotDone);
  EXPECT_THAT(score.err, AllOf(HasSubstr("jerk: stored"), HasSubstr("differs")));
}

TEST_F(TakeProgram, TheSameCommandGivesTheSameBytesTwice) {
  ASSERT_EQ(Film(folder_, "one").code, kFine);
  ASSERT_EQ(Film(folder_, "two").code, kFine);
  for (const char* file : {"scorecard.json", "timeline.svg", "results.db"}) {
    EXPECT_TRUE(ReadText(folder_ / "one" / file) == ReadText(folder_ / "two" / file)) << file;
  }
}

TEST_F(TakeProgram, AnotherSeedIsAnotherTake) {
  ASSERT_EQ(Film(folder_, "one").code, kFine);
  ASSERT_EQ(Film(folder_, "two", {"--seed", "2"}).code, kFine);
  EXPECT_NE(ReadText(folder_ / "one/scorecard.json"), ReadText(folder_ / "two/scorecard.json"));
}

TEST_F(TakeProgram, ResultsAreReplacedOnlyByForce) {
  ASSERT_EQ(Film(folder_, "one").code, kFine);
  const std::string before = ReadText(folder_ / "one/scorecard.json");
  const Ran again = Film(folder_, "one", {"--seed", "2"});
  EXPECT_EQ(again.code, kBadInput);
  EXPECT_THAT(again.err, HasSubstr("--force"));
  EXPECT_EQ(ReadText(folder_ / "one/scorecard.json"), before);
  EXPECT_EQ(Film(folder_, "one", {"--seed", "2", "--force"}).code, kFine);
  EXPECT_NE(ReadText(folder_ / "one/scorecard.json"), before);
}

TEST_F(TakeProgram, ExportsSeriesWithUnitsAndNeverOverASavedFile) {
  ASSERT_EQ(Film(folder_, "one").code, kFine);
  const std::string take = (folder_ / "one").string();
  const std::string csv = (folder_ / "metrics.csv").string();
  ASSERT_EQ(RunDryrig({"export", take, "--csv", csv}).code, kFine);
  EXPECT_THAT(ReadText(csv), AllOf(StartsWith("t_s,"), HasSubstr("framing_error [tolerances]")));
  EXPECT_EQ(RunDryrig({"export", take, "--csv", csv}).code, kBadInput);
  EXPECT_EQ(RunDryrig({"export", take, "--csv", csv, "--force"}).code, kFine);
  const Ran camera = RunDryrig({"export", take, "--csv", "-", "--series", "camera_position", "--series", "clearance"});
  EXPECT_THAT(camera.out,
              StartsWith("t_s,camera_position: x [m],camera_position: y [m],camera_position: z [m],clearance [m]\n0,"));
  const Take stored = Store(folder_ / "one/results.db", Store::Mode::kRead).ReadTake(1);
  EXPECT_EQ(static_cast<size_t>(std::count(camera.out.begin(), camera.out.end(), '\n')), stored.ticks.size() + 1);
  const Ran unknown = RunDryrig({"export", take, "--csv", "-", "--series", "camera_positon"});
  EXPECT_EQ(unknown.code, kBadInput);
  EXPECT_THAT(unknown.err, HasSubstr("did you mean \"camera_position\"?"));
  const Ran list = RunDryrig({"export", take, "--list"});
  EXPECT_THAT(list.out, AllOf(HasSubstr("camera_position"), HasSubstr("framing_error"), HasSubstr("joint_torque")));
}

}  // namespace
}  // namespace dryrig
