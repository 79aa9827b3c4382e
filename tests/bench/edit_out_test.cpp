#include "bench/edit_out.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <sstream>

#include "scenes/error.h"

namespace dryrig {
namespace {

using ::testing::HasSubstr;

Shot Of(SubjectKind kind) {
  Shot shot;
  shot.subjects = {{kind, ""}};
  return shot;
}

/// Ten seconds at 30 frames a second: hands at rest; from 4 s on the face, reached after a second's travel of 0.5 m.
Take TwoShots() {
  Take take;
  take.id.lesson = "sample", take.id.policy = "planner", take.id.frame_hz = 30;
  for (int i = 0; i < 300; ++i) {
    TakeFrame frame;
    frame.X_WC = Eigen::Isometry3d::Identity();
    frame.X_WC.translation().x() = std::clamp((i - 120) / 30.0, 0.0, 1.0) * 0.5;
    frame.chosen = Of(i < 120 ? SubjectKind::kHands : SubjectKind::kFace);
    take.frames.push_back(frame);
  }
  take.intents = {{0, 4, Of(SubjectKind::kHands), 0}, {4, 10, Of(SubjectKind::kBench), 1}};
  take.sentences = {{0.5, 2.25, "Glue & wait <here>."}, {3661.5, 3662, "Done."}};
  return take;
}

TEST(EditOut, ClipsFillTheTakeAndTellMovesFromShots) {
  const std::vector<EditClip> clips = ClipsOf(TwoShots());
  ASSERT_EQ(clips.size(), 3u);
  EXPECT_EQ(clips[0].start_s, 0);
  EXPECT_EQ(clips[0].end_s, 4);
  EXPECT_FALSE(clips[0].moving);
  EXPECT_TRUE(clips[1].moving);
  EXPECT_EQ(clips[1].end_s, 5);
  EXPECT_FALSE(clips[2].moving);
  EXPECT_EQ(clips[2].end_s, 10);
}

TEST(EditOut, ACueThatNoOneFollowedIsMissed) {
  const std::vector<MissedCue> missed = MissedCues(TwoShots());
  ASSERT_EQ(missed.size(), 1u);
  EXPECT_EQ(missed[0].start_s, 4);
  EXPECT_THAT(missed[0].what, HasSubstr("bench"));
}

// Read as an editor would: fields by position, time codes back to frames, record times without gap or overlap.
TEST(EditOut, TheEditListReadsBackAtEveryRateItMayHave) {
  for (const FrameRate& rate : FrameRates()) {
    EditSource source{"Sample", "films/lens-view.mp4", FromTimeCode(rate.drop ? "01:00:00;00" : "01:00:00:00", rate)};
    if (rate.nominal > 30) {
      EXPECT_THROW(EditList(TwoShots(), source, rate), InputError) << rate.name;
      continue;
    }
    std::istringstream lines(EditList(TwoShots(), source, rate));
    int64_t last = source.first_frame;
    int events = 0;
    for (std::string line; std::getline(lines, line);) {
      if (line.empty() || !std::isdigit(static_cast<unsigned char>(line[0]))) continue;
      std::istringstream fields(line);
      std::string number, reel, channel, cut, source_in, source_out, record_in, record_out, more;
      fields >> number >> reel >> channel >> cut >> source_in >> source_out >> record_in >> record_out;
      EXPECT_FALSE(fields >> more);
      EXPECT_EQ(number, fmt::format("{:03}", ++events));
      EXPECT_EQ(reel, "LENSVIEW");
      EXPECT_EQ(channel + cut, "VC");
      EXPECT_EQ(FromTimeCode(record_in, rate), last) << rate.name;
      EXPECT_EQ(source_in, record_in);
      EXPECT_EQ(source_out, record_out);
      last = FromTimeCode(record_out, rate);
    }
    EXPECT_EQ(events, 3);
    EXPECT_EQ(last, source.first_frame + FrameAt(10, rate)) << rate.name;
    EXPECT_THAT(EditList(TwoShots(), source, rate), HasSubstr(rate.drop ? "FCM: DROP FRAME" : "FCM: NON-DROP FRAME"));
  }
}

TEST(EditOut, TheTimelineHoldsTheClipsInOrderAndTheMissedCue) {
  for (const FrameRate& rate : FrameRates()) {
    const nlohmann::json timeline = nlohmann::json::parse(EditTimeline(TwoShots(), {"Sample", "lens.mp4", 100}, rate));
    EXPECT_EQ(timeline["OTIO_SCHEMA"], "Timeline.1");
    const nlohmann::json& track = timeline["tracks"]["children"][0];
    double at = 100, sum = 0;
    for (const nlohmann::json& clip : track["children"]) {
      EXPECT_EQ(clip["source_range"]["start_time"]["value"], at);
      EXPECT_EQ(clip["source_range"]["start_time"]["rate"], rate.Hz());
      at += clip["source_range"]["duration"]["value"].get<double>();
      sum += clip["source_range"]["duration"]["value"].get<double>();
    }
    EXPECT_EQ(sum, FrameAt(10, rate)) << rate.name;
    ASSERT_EQ(track["markers"].size(), 1u);
    EXPECT_EQ(track["markers"][0]["marked_range"]["start_time"]["value"], FrameAt(4, rate));
  }
}

TEST(EditOut, SentencesBecomeWebVttWithItsThreeMarksEscaped) {
  EXPECT_EQ(SpokenWebVtt(TwoShots()),
            "WEBVTT\n\n00:00:00.500 --> 00:00:02.250\nGlue &amp; wait &lt;here&gt;.\n\n01:01:01.500 --> 01:01:02.000\nDone.\n");
}

}  // namespace
}  // namespace dryrig
