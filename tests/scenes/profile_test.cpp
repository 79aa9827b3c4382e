#include "scenes/profile.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/catalogue.h"
#include "scenes/error.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::ThrowsMessage;

constexpr const char* kPlain = R"(dryrig: profile/1
title: A test's profile
enforce: [contact, head]
tool_speed:   {speed_m_per_s: 0.25, source: "a"}
human_speed:  {speed_m_per_s: 1.6, source: "b"}
reaction:     {time_ms: 100, source: "c"}
intrusion:    {distance_mm: 200, source: "d"}
person_error: {distance_mm: 100, source: "e"}
robot_error:  {distance_mm: 50, source: "f"}
watch:        {distance_mm: 500, source: "g"}
press_limit:  {force_N: 0, source: "h"}
regions:
  - {region: hand, force_N: 100, source: "i"}
)";

std::string With(const std::string& from, const std::string& to) {
  std::string text = kPlain;
  const size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

void ExpectRefusal(const std::string& text, const std::string& place, const std::string& says) {
  EXPECT_THAT([&] { ParseProfile(text, "p.yaml"); },
              ThrowsMessage<InputError>(AllOf(HasSubstr("p.yaml:" + place), HasSubstr(says))))
      << text;
}

TEST(Profile, ReadsWhatItsFileSaysInSi) {
  const Profile profile = ParseProfile(kPlain, "plain.yaml");
  EXPECT_EQ(profile.name, "plain");
  EXPECT_THAT(profile.enforced, ElementsAre(ClearanceRule::kContact, ClearanceRule::kHead));
  EXPECT_TRUE(profile.Enforces(ClearanceRule::kHead));
  EXPECT_FALSE(profile.Enforces(ClearanceRule::kSpeed));
  EXPECT_DOUBLE_EQ(profile.reaction.value, 0.1);
  EXPECT_DOUBLE_EQ(profile.intrusion.value, 0.2);
  EXPECT_EQ(profile.intrusion.source, "d");
  EXPECT_FALSE(profile.measured);
  EXPECT_EQ(profile.regions.at("hand").force_N, 100);
}

TEST(Profile, RefusesByPlaceAndName) {
  ExpectRefusal(With("[contact, head]", "[contact, hed]"), "3:20", "did you mean \"head\"");
  ExpectRefusal(With("[contact, head]", "[head, head]"), "3:17", "named twice");
  ExpectRefusal(With("[contact, head]", "[]"), "3:10", "enforce");
  ExpectRefusal(With("time_ms: 100", "time_ms: 0"), "6:25", "reaction: time_ms");
  ExpectRefusal(With(", source: \"c\"", ""), "6:15", "source");
  ExpectRefusal(With("region: hand", "region: hnad"), "13:14", "did you mean \"hand\"");
  ExpectRefusal(With("watch: ", "wach: "), "10:1", "did you mean \"watch\"");
  ExpectRefusal(With("force_N: 100, ", ""), "13:5", "changes nothing");
}

TEST(Profile, ShippedOnesReadAndNameTheirSources) {
  const std::vector<std::string> names = ListScenes(SceneKind::kProfile);
  EXPECT_THAT(names, ElementsAre("contact-limited", "reduced-speed", "separation"));
  for (const std::string& name : names) {
    const Profile profile = ReadProfile(FindScene(SceneKind::kProfile, name));
    EXPECT_THAT(profile.text, HasSubstr("Invented")) << name;
    for (const ProfileTerm* term : {&profile.tool_speed, &profile.human_speed, &profile.reaction, &profile.intrusion,
                                    &profile.person_error, &profile.robot_error, &profile.watch, &profile.press_limit}) {
      EXPECT_GE(term->source.size(), 10u) << name << ": " << term->source;
    }
  }
}

}  // namespace
}  // namespace dryrig
