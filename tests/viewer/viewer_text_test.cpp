// Keys, the command line, saved parameters and error messages taken apart.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "tests/bench/child.h"
#include "viewer/command_line.h"
#include "viewer/keys.h"
#include "viewer/policy_file.h"
#include "viewer/problem_text.h"

namespace dryrig {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::ThrowsMessage;

ViewOptions Parsed(std::vector<const char*> arguments) {
  arguments.insert(arguments.begin(), "dryrig-view");
  return ParseView(static_cast<int>(arguments.size()), arguments.data()).options;
}

TEST(Keys, NoTwoBindingsShareAKeyAndEachIsFoundAgain) {
  std::set<std::tuple<int, char32_t, int>> chords;
  for (const KeyBinding& binding : KeyTable()) {
    EXPECT_TRUE(chords.emplace(binding.key, binding.typed, binding.mods).second) << binding.keys;
    EXPECT_EQ(binding.keys.empty(), binding.meaning.empty());
    const KeyBinding* found = binding.key != 0 ? FindKey(binding.key, binding.mods) : FindTyped(binding.typed);
    EXPECT_EQ(found, &binding) << binding.keys;
  }
  EXPECT_EQ(FindKey('Z', 0), nullptr);
  EXPECT_EQ(FindTyped(U'z'), nullptr);
  EXPECT_EQ(FindTyped(0), nullptr);
}

TEST(Keys, TheTradesKeysAreWhereTheTradeHasThem) {
  const auto key = [](int letter) { return std::get<TransportKey>(FindKey(letter, 0)->does); };
  EXPECT_EQ(key('J'), TransportKey::kBack);
  EXPECT_EQ(key('K'), TransportKey::kStop);
  EXPECT_EQ(key('L'), TransportKey::kForward);
  EXPECT_EQ(key(' '), TransportKey::kPlayOrStop);
}

TEST(ViewCommandLine, ReadsWhatToShow) {
  const ViewOptions options = Parsed({"booklet", "--policy", "follow:max_mps=0.5", "--compare", "tripod", "--at", "12.5",
                                      "--screenshot", "out/view.png", "--size", "1600x900"});
  EXPECT_EQ(options.what, "booklet");
  EXPECT_EQ(options.policy->name, "follow");
  EXPECT_EQ(options.policy->values.at("max_mps"), 0.5);
  EXPECT_EQ(options.compare->name, "tripod");
  EXPECT_EQ(options.at_s, 12.5);
  EXPECT_EQ(options.screenshot, "out/view.png");
  EXPECT_EQ(options.width, 1600);
  EXPECT_EQ(options.height, 900);
  EXPECT_TRUE(Parsed({}).what.empty());
}

TEST(ViewCommandLine, RefusesWhatItCannotDo) {
  for (const auto& [arguments, message] : std::vector<std::pair<std::vector<const char*>, const char*>>{
           {{"booklet", "--size", "1280"}, "expected WIDTHxHEIGHT"},
           {{"booklet", "--size", "1280x9"}, "320 to 16384"},
           {{"booklet", "--size", "1280x720x3"}, "expected WIDTHxHEIGHT"},
           {{"booklet", "--at", "-1"}, "--at -1"},
           {{"booklet", "--at", "nan"}, "--at nan"},
           {{"booklet", "--scale", "9"}, "[0.5, 4]"},
           {{"booklet", "--policy", "planer"}, "did you mean \"planner\""},
           {{"booklet", "--policy", "planner:size=99"}, "size"},
           {{"--compare", "follow"}, "needs a lesson"},
           {{"booklet", "seedling"}, "dryrig view --help"},
           {{"--nonsense"}, "dryrig view --help"}}) {
    EXPECT_THAT([&] { Parsed(arguments); }, ThrowsMessage<InputError>(HasSubstr(message)));
  }
}

TEST(ViewCommandLine, HelpIsText) {
  const char* arguments[] = {"dryrig-view", "--help"};
  const ParsedView parsed = ParseView(2, arguments);
  EXPECT_EQ(parsed.exit_code, 0);
  EXPECT_THAT(parsed.text, HasSubstr("--screenshot"));
}

TEST(PolicyFile, ComesBackAsItWasSaved) {
  const Folder folder;
  const PolicyChoice policy{"planner", {{"angle", 1.0 / 3}, {"size", 2}}};
  SavePolicyFile(folder / "tuned.policy", policy, false);
  const PolicyChoice read = ReadPolicyFile(folder / "tuned.policy");
  EXPECT_EQ(read.name, "planner");
  EXPECT_EQ(read.values, policy.values) << "to the last bit";
  EXPECT_EQ(Parsed({"booklet", "--policy", (folder / "tuned.policy").c_str()}).policy->values, policy.values);
}

TEST(PolicyFile, IsNotReplacedUnasked) {
  const Folder folder;
  SavePolicyFile(folder / "tuned.policy", {"planner", {}}, false);
  EXPECT_THAT(
      [&] {
        SavePolicyFile(folder / "tuned.policy", {"follow", {}}, false);
      },
      ThrowsMessage<InputError>(HasSubstr("is there already")));
  EXPECT_EQ(ReadPolicyFile(folder / "tuned.policy").name, "planner");
  SavePolicyFile(folder / "tuned.policy", {"follow", {}}, true);
  EXPECT_EQ(ReadPolicyFile(folder / "tuned.policy").name, "follow");
  EXPECT_THROW(SavePolicyFile(folder / "no/such/folder.policy", {"follow", {}}, true), RunError);
  EXPECT_THROW(SavePolicyFile("", {"follow", {}}, true), InputError);
}

TEST(PolicyFile, RefusesOtherFiles) {
  const Folder folder;
  EXPECT_THAT([&] { ReadPolicyFile(folder.Write("a.policy", "planner:angel=1\n")); },
              ThrowsMessage<InputError>(testing::AllOf(HasSubstr("a.policy:1"), HasSubstr("angle"))));
  EXPECT_THROW(ReadPolicyFile(folder.Write("a.policy", "planner\nfollow\n")), InputError);
  EXPECT_THROW(ReadPolicyFile(folder.Write("a.policy", std::string(100000, 'x'))), InputError);
  EXPECT_THROW(ReadPolicyFile(folder / "missing.policy"), InputError);
}

// The command that the window shows, run by a shell.
TEST(PolicyFile, TheCommandShownFilmsWithTheSavedParameters) {
  const Folder folder;
  const std::string lesson = folder.Write("it's short.yaml", kShortLesson);
  SavePolicyFile(folder / "my tuned.policy", {"tripod", {{"wide_m", 0.5}}}, false);
  std::string command = CommandWithPolicyFile(lesson, folder / "my tuned.policy");
  ASSERT_TRUE(command.starts_with("dryrig "));
  command = "cd " + folder.path().string() + " && " + DRYRIG_PROGRAM + command.substr(6) + " --json > card.json";
  ASSERT_EQ(std::system(command.c_str()), 0) << command;
  EXPECT_THAT(ReadText(folder / "card.json"), HasSubstr("wide_m=0.5"));
}

TEST(ProblemText, ShowsThePlaceInTheFile) {
  const Folder folder;
  const std::string file = folder.Write("lesson.yaml", "one\ntwo\nthree\nfour\nfive\n");
  const ProblemText text = ReadProblem(file + ":3:2: no beat \"three\"; did you mean \"free\"?");
  EXPECT_EQ(text.pos.file, file);
  EXPECT_EQ(text.pos.line, 3);
  EXPECT_EQ(text.pos.column, 2);
  EXPECT_EQ(text.message, "no beat \"three\"; did you mean \"free\"?");
  ASSERT_EQ(text.lines.size(), 5u);
  EXPECT_EQ(text.lines[2].text, "three");
  EXPECT_TRUE(text.lines[2].here);
  EXPECT_FALSE(text.lines[1].here);
}

TEST(ProblemText, TakesAnyMessage) {
  EXPECT_EQ(ReadProblem("no lesson \"x\"").message, "no lesson \"x\"");
  EXPECT_THAT(ReadProblem("gone.yaml:3:2: oh").lines, IsEmpty());
  EXPECT_EQ(ReadProblem("gone.yaml:3: oh").pos.column, 0);
  EXPECT_EQ(ReadProblem("f:99999999999: oh").pos.line, 0);
  const std::string huge(1 << 20, ':');
  EXPECT_EQ(ReadProblem(huge).message, huge);
  const Folder folder;
  EXPECT_THAT(ReadProblem(folder.Write("short.yaml", "one\n") + ":9:1: past the end").lines, IsEmpty());
}

}  // namespace
}  // namespace dryrig
