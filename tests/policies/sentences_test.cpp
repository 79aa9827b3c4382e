#include "policies/sentences.h"

#include <gtest/gtest.h>

namespace dryrig {
namespace {

const std::vector<std::string> kProps{"bone-folder", "awl", "thread", "pot", "sheets"};

struct Row {
  const char* text;
  Ask ask;
};

Ask Closer() {
  return {.closer = 1, .angle = {}, .look_at = {}};
}
Ask Wider() {
  return {.closer = -1, .angle = {}, .look_at = {}};
}
Ask Angle(ShotAngle angle) {
  return {.closer = 0, .angle = angle, .look_at = {}};
}
Ask LookAt(const char* prop) {
  return {.closer = 0, .angle = {}, .look_at = prop};
}
Ask Back() {
  return {.closer = 0, .angle = {}, .look_at = {}, .back_to_normal = true};
}

TEST(Sentences, WordingsAreReadAsTheyAreMeant) {
  const std::vector<Row> rows{
      // closer
      {"Come in closer, so that nothing is missed.", Closer()},
      {"Can we have a closer look?", Closer()},
      {"Zoom in, please", Closer()},
      {"zoom in on my fingers", Closer()},
      {"Closer with the camera.", Closer()},
      {"I would like you to see it up close.", Closer()},
      {"MOVE IN A LITTLE", Closer()},
      {"Closer, please. I want you to see this.", Closer()},
      {"the camera may come a little closer", Closer()},
      // wider
      {"Step back, so that all of it fits.", Wider()},
      {"Let us zoom out again.", Wider()},
      {"A wider view, please.", Wider()},
      {"Show the whole bench.", Wider()},
      {"go wider", Wider()},
      {"Pull back a bit.", Wider()},
      // from above
      {"Now from above.", Angle(ShotAngle::kOverhead)},
      {"This is best seen from overhead", Angle(ShotAngle::kOverhead)},
      {"A bird's eye view helps here.", Angle(ShotAngle::kOverhead)},
      {"Straight down, please.", Angle(ShotAngle::kOverhead)},
      // level
      {"Stay at eye level.", Angle(ShotAngle::kEyeLevel)},
      {"Come down, level with my hands.", Angle(ShotAngle::kEyeLevel)},
      {"Film this at bench level.", Angle(ShotAngle::kEyeLevel)},
      // look at NAME
      {"Look at the awl.", LookAt("awl")},
      {"Notice the wax on this thread.", LookAt("thread")},
      {"Here you see the bone folder.", LookAt("bone-folder")},
      // several at once
      {"Look at the thread from above.", {.closer = 0, .angle = ShotAngle::kOverhead, .look_at = "thread"}},
      {"Notice the wax on this thread, right up close.", {.closer = 1, .angle = {}, .look_at = "thread"}},
      {"Zoom in, from above.", {.closer = 1, .angle = ShotAngle::kOverhead, .look_at = {}}},
      // back
      {"Back to normal.", Back()},
      {"And now the usual view again.", Back()},
      // nothing asked
      {"", {}},
      {"Today we sew three folded sheets into a booklet.", {}},
      {"Fold it closer to the edge than before.", {}},
      {"The two marks sit closer together now.", {}},
      {"The wider side lies on the left.", {}},
      {"Close the lid and press.", {}},
      {"Above all, take your time.", {}},
      {"Pull the thread tight.", {}},
      {"The level of the water must not rise.", {}},
      {"Put the awl back in its place.", {}},
      {"There is no need to zoom in.", {}},
      {"Do not come closer, this is hot.", {}},
      {"Don't look at the awl.", {}},
      {"You need not see this from above.", {}},
      {"Zoom in or zoom out, as you like.", {}},
  };
  for (const Row& row : rows) {
    SCOPED_TRACE(row.text);
    const Ask ask = ReadSentence(row.text, kProps);
    EXPECT_EQ(ask.closer, row.ask.closer);
    EXPECT_EQ(ask.angle, row.ask.angle);
    EXPECT_EQ(ask.look_at, row.ask.look_at);
    EXPECT_EQ(ask.back_to_normal, row.ask.back_to_normal);
  }
}

TEST(Sentences, ANameThatIsNoPropIsNotLookedAt) {
  EXPECT_TRUE(ReadSentence("Look at the hammer.", kProps).empty());
  EXPECT_TRUE(ReadSentence("Look at the awl.", {}).empty());
}

TEST(Sentences, TheLongerOfTwoNamesThatFitIsMeant) {
  EXPECT_EQ(ReadSentence("Look at the soup bowl.", {"bowl", "soup-bowl"}).look_at, "soup-bowl");
}

}  // namespace
}  // namespace dryrig
