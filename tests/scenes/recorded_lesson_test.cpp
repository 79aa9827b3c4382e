#include "scenes/recorded_lesson.h"

#include <gmock/gmock.h>

#include <map>

#include "scenes/error.h"
#include "scenes/lesson.h"
#include "tests/scenes/bvh_files.h"

namespace dryrig {
namespace {

using testing::HasSubstr;

constexpr const char* kHead = R"(dryrig: lesson/1
title: Folding
craft: bookbinding
hard_for: nothing
bench: workshop-bench
)";
constexpr const char* kProps = R"(props:
  - {name: awl, box: {size_mm: [120, 20, 18]}, at_mm: [200, 240], mass_g: 40}
  - {name: glue, cylinder: {diameter_mm: 40, height_mm: 90}, at_mm: [-200, 240], mass_g: 90}
)";
constexpr const char* kCaptions = "WEBVTT\n\n00:01.000 --> 00:02.000\nFold it.\n\n00:03.000 --> 00:04.500\nPress <b>hard</b>.\n";

std::string Motion() {
  BvhStyle style;
  style.frames = 301;  // 5 s
  return WriteBvh(style);
}

Lesson Parse(const std::string& rest, std::map<std::string, std::string> files = {}) {
  files.emplace("fold.bvh", Motion());
  files.emplace("fold.vtt", kCaptions);
  return ParseLesson(kHead + rest, "shelf/fold.yaml", [&](const std::string&, const std::string& name) {
    const auto file = files.find(name);
    if (file == files.end()) throw InputError(name + ": no such file; check the path");
    return file->second;
  });
}

std::string Refused(const std::string& rest) {
  try {
    Parse(rest);
  } catch (const InputError& e) {
    return e.what();
  }
  ADD_FAILURE() << "read without a word";
  return "";
}

TEST(RecordedLesson, BodySpeechPropsAndKeyComeTogether) {
  const Lesson lesson = Parse(std::string(kProps) + R"(recorded:
  motion: fold.bvh
  captions: fold.vtt
  start_s: 0.5
  length_s: 4
  place: {at_mm: [100, -300], yaw_deg: 20}
  carried:
    - {prop: glue, hand: left, from_s: 3, to_s: 4}
    - {prop: awl, hand: right, from_s: 1, to_s: 2, to_mm: [0, 200]}
  hands_in_use: [{hands: both, from_s: 1, to_s: 2}]
intents:
  - {from_s: 1, to_s: 3, subject: hands, size: close-up, angle: overhead}
  - {from_s: 3.5, subject: [prop:awl, hands], size: medium}
)");
  EXPECT_TRUE(lesson.beats.empty());
  ASSERT_TRUE(lesson.recorded);
  const RecordedLesson& r = *lesson.recorded;
  EXPECT_EQ(r.motion.frames, 301u);
  EXPECT_EQ(r.start_s, 0.5);
  EXPECT_EQ(r.length_s, 4);
  EXPECT_EQ(*r.place.at_m, Eigen::Vector2d(0.1, -0.3));
  EXPECT_NEAR(r.place.yaw_rad, 20 * std::numbers::pi / 180, 1e-12);
  ASSERT_EQ(r.captions.cues.size(), 2u);
  EXPECT_EQ(r.captions.cues[1].text, "Press hard.");
  ASSERT_EQ(r.carried.size(), 2u);
  EXPECT_EQ(r.carried[0].prop, 0);  // in order of time
  EXPECT_EQ(r.carried[0].side, 1);
  EXPECT_EQ(*r.carried[0].to_m, Eigen::Vector2d(0, 0.2));
  ASSERT_EQ(r.intents.size(), 2u);
  EXPECT_EQ(ToString(r.intents[0].shot), "close-up of hands, overhead");
  EXPECT_EQ(*r.intents[0].to_s, 3);
  EXPECT_FALSE(r.intents[1].to_s);
  ASSERT_EQ(r.files.size(), 2u);
  EXPECT_EQ(r.files[0].text, Motion());
  EXPECT_EQ(r.files[1].kind, "captions");
}

TEST(RecordedLesson, WhatDoesNotFitIsRefusedByPlace) {
  const struct {
    std::string rest;
    std::vector<std::string> words;
  } rows[] = {
      {"", {"shelf/fold.yaml:1:1", "no course of the lesson", "beats, recorded"}},
      {"beats: [{pause: {for_s: 1}}]\nrecorded: {motion: fold.bvh}\n", {"both", "give one course of the lesson"}},
      {"person: avery\nbeats: [{pause: {for_s: 1}}]\nintents: []\n", {"8:10", "intents", "give each beat its intent"}},
      {"recorded: {}\n", {"6:11", "\"motion\" is missing"}},
      {"recorded: {motion: gone.bvh}\n", {"6:20", "motion \"gone.bvh\"", "no such file"}},
      {"recorded: {motion: fold.bvh, caption: x}\n", {"unknown key \"caption\"", "did you mean \"captions\"?"}},
      {"recorded: {motion: fold.bvh, unit: feet}\n", {"\"feet\" is not known", "mm"}},
      {"recorded: {motion: fold.bvh, unit: mm}\n",
       {"fold.bvh: in mm the person would be 0.17 m tall", "correct the unit or leave it out"}},
      {"recorded: {motion: fold.bvh, up: w}\n", {"\"w\" is not known"}},
      {"recorded: {motion: fold.bvh, start_s: 7}\n", {"6:39", "runs from 0.000 to 5.000 s", "at least 0.5 s"}},
      {"recorded: {motion: fold.bvh, start_s: 2, length_s: 4}\n",
       {"length_s: 4.000 s, but from 2.000 s on only 3.000 s are recorded"}},
      {"recorded: {motion: fold.bvh, length_s: 0.1}\n", {"length_s: 0.1 s is out of range"}},
      {"recorded: {motion: fold.bvh, place: there}\n", {"\"there\" is not known", "on-the-spot"}},
      {"recorded: {motion: fold.bvh, carried: [{prop: awl, hand: left, from_s: 1, to_s: 2}]}\n",
       {"carried \"awl\": no such prop"}},
      {std::string(kProps) + "recorded: {motion: fold.bvh, carried: [{prop: awl, hand: left, from_s: 2, to_s: 1}]}\n",
       {"to_s: 1 s is not after from_s, 2 s"}},
      {std::string(kProps) + "recorded: {motion: fold.bvh, carried: [{prop: awl, hand: left, from_s: 1, to_s: 3}, {prop: awl, "
                             "hand: right, from_s: 2, to_s: 4}]}\n",
       {"\"awl\" from 2 to 4 s, while it is carried already"}},
      {std::string(kProps) + "recorded: {motion: fold.bvh, carried: [{prop: awl, hand: left, from_s: 1, to_s: 3}, {prop: glue, "
                             "hand: left, from_s: 2, to_s: 4}]}\n",
       {"while that hand carries another prop"}},
      {"recorded: {motion: fold.bvh}\nintents: [{from_s: 1, subject: prop:awl, size: wide}]\n",
       {"intent 1", "intent of \"awl\": no such prop"}},
      {"recorded: {motion: fold.bvh}\nintents: [{from_s: 2, subject: face, size: wide}, {from_s: 1, subject: face, size: "
       "wide}]\n",
       {"intent 2", "1 s is not after the intent before it, 2 s"}},
      {"recorded: {motion: fold.bvh}\nintents: [{from_s: 2, to_s: 2, subject: face, size: wide}]\n",
       {"to_s: 2 s is not after from_s"}},
      {"recorded: {motion: fold.bvh, hands_in_use: [{hands: none, from_s: 1, to_s: 2}]}\n", {"\"none\" is not known"}},
      {"recorded: {motion: fold.bvh, mapping: fold.vtt}\n", {"fold.vtt:1:1"}},
      {"recorded: {motion: fold.vtt}\n", {"fold.vtt:1: no column t"}},
      {"recorded: {motion: fold.bvh, captions: fold.bvh}\n", {"fold.bvh: no line with -->"}},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.rest);
    const std::string message = Refused(row.rest);
    for (const std::string& word : row.words) EXPECT_THAT(message, HasSubstr(word));
  }
}

}  // namespace
}  // namespace dryrig
