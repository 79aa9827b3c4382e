#include "scenes/suite.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/catalogue.h"
#include "scenes/error.h"
#include "scenes/sensing.h"

namespace dryrig {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Property;
using ::testing::Throws;

constexpr const char* kPlain = R"(dryrig: suite/1
title: A test's suite
lessons: [booklet]
policies: [tripod, "planner:clearance_m=0.3"]
seeds: [3, 5]
exclude:
  - {lesson: booklet, seed: 5}
primary:
  - {metric: framing_error, policy: "planner:clearance_m=0.3", against: tripod}
limits:
  - {metric: closest_approach, at_least: 0.1, policies: [tripod]}
)";

void ExpectRefusal(const std::string& from, const std::string& to, const std::string& place, const std::string& says) {
  std::string text = kPlain;
  const size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  text.replace(at, from.size(), to);
  EXPECT_THAT([&] { ParseSuite(text, "s.yaml"); },
              Throws<InputError>(Property(&InputError::what, ::testing::AllOf(HasSubstr("s.yaml:" + place), HasSubstr(says)))))
      << to;
}

TEST(Suite, ReadsWhatItsFileSays) {
  const Suite suite = ParseSuite(kPlain, "plain.yaml");
  EXPECT_EQ(suite.name, "plain");
  EXPECT_THAT(suite.policies, ElementsAre("tripod", "planner:clearance_m=0.3"));
  EXPECT_THAT(suite.seeds, ElementsAre(3, 5));
  EXPECT_THAT(suite.people, IsEmpty());
  ASSERT_EQ(suite.exclude.size(), 1u);
  EXPECT_EQ(suite.exclude[0].seed, 5u);
  EXPECT_FALSE(suite.exclude[0].policy);
  EXPECT_EQ(suite.primary[0].against, "tripod");
  EXPECT_EQ(suite.limits[0].at_least, 0.1);
  EXPECT_FALSE(suite.limits[0].at_most);
}

TEST(Suite, SeedsAreAListOrACount) {
  const std::string text = "dryrig: suite/1\ntitle: Three seeds\nlessons: [booklet]\npolicies: [tripod]\nseeds: 3\n";
  EXPECT_THAT(ParseSuite(text, "s.yaml").seeds, ElementsAre(1, 2, 3));
}

TEST(Suite, VariantsSayWhatTheyChangeOfTheKey) {
  const std::string text =
      "dryrig: suite/1\ntitle: Other keys\nlessons: [booklet]\npolicies: [tripod]\nkeep_series:\n  - {policy: "
      "tripod}\nvariants:\n"
      "  - {shift_s: -0.5}\n  - {size_steps: 1}\n  - {tolerances: 0.5}\n  - {shift_s: 2, size_steps: -2, tolerances: 2}\n";
  const Suite suite = ParseSuite(text, "s.yaml");
  std::vector<std::string> words;
  for (const SuiteVariant& variant : suite.variants) words.push_back(ToString(variant));
  EXPECT_THAT(words, ElementsAre("intents 0.5 s earlier", "1 size closer", "tolerances x 0.5",
                                 "intents 2 s later, 2 sizes wider, tolerances x 2"));
  ASSERT_EQ(suite.keep_series.size(), 1u);
  EXPECT_EQ(suite.keep_series[0].policy, "tripod");
}

TEST(Suite, RefusesWithThePlaceAndTheMend) {
  ExpectRefusal("lessons: [booklet]", "lessons: []", "3:10", "lessons");
  ExpectRefusal("lessons: [booklet]", "lessons: [booklet, booklet]", "3:20", "named twice");
  ExpectRefusal("lessons:", "lesson:", "3:1", "did you mean \"lessons\"");
  ExpectRefusal("[3, 5]", "[3, 3]", "5:12", "named twice");
  ExpectRefusal("[3, 5]", "0", "5:8", "0");
  ExpectRefusal("[3, 5]", "-1", "5:8", "-1");
  ExpectRefusal("{lesson: booklet, seed: 5}", "{}", "7:5", "names nothing");
  ExpectRefusal("against: tripod", "against: tripd", "9:73", "did you mean \"tripod\"");
  ExpectRefusal("against: tripod", "against: \"planner:clearance_m=0.3\"", "9:73", "the policy itself");
  ExpectRefusal("at_least: 0.1", "at_least: .nan", "11:42", "");
  ExpectRefusal("at_least: 0.1", "at_least: 0.1, at_most: 1", "11", "at_most");
  ExpectRefusal("policies: [tripod]}", "policies: [tripot]}", "11:58", "did you mean");
  ExpectRefusal("limits:", "variants:\n  - {}\nlimits:", "11:5", "changes nothing");
  ExpectRefusal("limits:", "variants:\n  - {size_steps: 0}\nlimits:", "11:5", "changes nothing");
  ExpectRefusal("limits:", "variants:\n  - {size_steps: 1}\n  - {size_steps: 1}\nlimits:", "12:5", "the same twice");
  ExpectRefusal("limits:", "variants:\n  - {tolerances: 0}\nlimits:", "11:18", "0");
}

TEST(Suite, ShippedOnesAreGoodAndTheirNamesExist) {
  int seen = 0;
  for (const std::string& name : ListScenes(SceneKind::kSuite)) {
    const Suite suite = ReadSuite(FindScene(SceneKind::kSuite, name));
    for (const std::string& lesson : suite.lessons) FindScene(SceneKind::kLesson, lesson);
    for (const std::string& person : suite.people) FindScene(SceneKind::kPerson, person);
    for (const std::string& sensing : suite.sensings) FindSensing(sensing);
    ++seen;
  }
  EXPECT_GE(seen, 1);
}

}  // namespace
}  // namespace dryrig
