// A recording as a user brings it: told by `check`, filmed by `take`, kept whole in the store.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "sim/store.h"
#include "tests/bench/child.h"
#include "tests/scenes/bvh_files.h"
#include "tests/scenes/track_files.h"

namespace dryrig {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

constexpr const char* kCaptions = "WEBVTT\n\n00:01.000 --> 00:02.000\nFold <i>it</i>.\n\n00:03,000 --> 00:04,000\nPress.\n";

std::string Motion() {
  BvhStyle style;
  style.frames = 241;  // 4 s
  return WriteBvh(style);
}

TEST(RecordedProgram, CheckTellsWhatWasUnderstood) {
  const Folder folder;
  const Ran bvh = RunDryrig({"check", folder.Write("fold.bvh", Motion())});
  EXPECT_EQ(bvh.code, 0) << bvh.err;
  EXPECT_THAT(bvh.out,
              AllOf(HasSubstr("recording fold: BVH"), HasSubstr("241 frames at 60 Hz, 4.00 s"), HasSubstr("unit: cm"),
                    HasSubstr("up: y"), HasSubstr("left_elbow = LeftForeArm"), HasSubstr("joints not used"),
                    HasSubstr("LeftShoulder"), HasSubstr("left thigh 420 mm"), HasSubstr("gaps: none"),
                    HasSubstr("made up: left fingers, right fingers"), HasSubstr("no intents, so framing is not scored")));
  TrackStyle style;
  style.keep = [](size_t f, const std::string& joint) { return joint != "left_wrist" || f < 20 || f > 25; };
  const Ran csv = RunDryrig({"check", folder.Write("fold.csv", WriteTrack(style))});
  EXPECT_EQ(csv.code, 0) << csv.err;
  EXPECT_THAT(csv.out, AllOf(HasSubstr("recording fold: pose track"), HasSubstr("left_wrist 1 filled (0.20 s)"),
                             HasSubstr("low-passed at 6 Hz")));
  const Ran vtt = RunDryrig({"check", folder.Write("fold.vtt", kCaptions)});
  EXPECT_EQ(vtt.code, 0) << vtt.err;
  EXPECT_THAT(vtt.out, AllOf(HasSubstr("captions fold.vtt: WebVTT, 1 sentences"), HasSubstr("Fold it."),
                             HasSubstr("fold.vtt:6: no cue timings")));
  const Ran mapping = RunDryrig({"check", folder.Write("own.yaml", "dryrig: mapping/1\njoints: {pelvis: Hueft}\n")});
  EXPECT_THAT(mapping.out, HasSubstr("pelvis = Hueft"));
  const Ran broken = RunDryrig({"check", folder.Write("cut.bvh", Motion().substr(0, 9000))});
  EXPECT_EQ(broken.code, 2);
  EXPECT_THAT(broken.err, HasSubstr("cut.bvh:"));
}

TEST(RecordedProgram, ABareRecordingIsFilmedAndKeptWhole) {
  const Folder folder;
  const std::string motion = folder.Write("fold.bvh", Motion()), captions = folder.Write("fold.vtt", kCaptions);
  const Ran ran =
      RunDryrig({"take", motion, "--captions", captions, "--policy", "follow", "--out", (folder / "out").string(), "--json"});
  ASSERT_EQ(ran.code, 0) << ran.err;
  const Store store(folder / "out/results.db", Store::Mode::kRead);
  const Take take = store.ReadTake(store.TakeIds().front());
  EXPECT_NEAR(take.duration_s, 4, 1e-6);
  ASSERT_EQ(take.sentences.size(), 1u);
  EXPECT_EQ(take.sentences[0].text, "Fold it.");
  std::vector<std::string> kinds;
  for (const StoredInput& input : store.ReadInputs(store.TakeIds().front())) {
    kinds.push_back(input.kind);
    if (input.kind == "motion") {
      EXPECT_EQ(input.text, Motion());
    }
  }
  EXPECT_THAT(kinds, testing::IsSupersetOf({"lesson", "motion", "captions", "person"}));
  const Ran wrong =
      RunDryrig({"take", "booklet", "--captions", captions, "--policy", "follow", "--out", (folder / "out2").string()});
  EXPECT_EQ(wrong.code, 2);
  EXPECT_THAT(wrong.err, HasSubstr("a lesson names its own"));
}

TEST(RecordedProgram, ALessonWithPropsAndKeyIsScored) {
  const Folder folder;
  folder.Write("fold.bvh", Motion());
  folder.Write("fold.vtt", kCaptions);
  const std::string lesson = folder.Write("fold.yaml", R"(dryrig: lesson/1
title: Folding
craft: bookbinding
hard_for: nothing
bench: workshop-bench
props:
  - {name: awl, box: {size_mm: [120, 20, 18]}, at_mm: [200, 240], mass_g: 40}
recorded: {motion: fold.bvh, captions: fold.vtt, carried: [{prop: awl, hand: right, from_s: 1, to_s: 3}]}
intents:
  - {from_s: 0.5, subject: [hands, prop:awl], size: medium}
)");
  const Ran ran = RunDryrig({"take", lesson, "--policy", "planner", "--out", (folder / "out").string(), "--json"});
  ASSERT_EQ(ran.code, 0) << ran.err;
  const auto scores = nlohmann::json::parse(ran.out).at("scores");
  for (const char* metric : {"hand_visibility", "framing_error", "jerk", "occlusion", "closest_approach"}) {
    EXPECT_TRUE(scores.dump().find(metric) != std::string::npos) << metric;
  }
  const Store store(folder / "out/results.db", Store::Mode::kRead);
  int measured = 0;
  for (const StoredScore& score : store.ReadScores(store.TakeIds().front())) {
    if (!score.value) continue;
    EXPECT_TRUE(std::isfinite(*score.value)) << score.metric;
    ++measured;
  }
  EXPECT_GT(measured, 25);
}

}  // namespace
}  // namespace dryrig
