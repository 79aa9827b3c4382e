// What the window keeps between runs, and what a broken file does to it: nothing.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdlib>

#include "tests/bench/child.h"
#include "viewer/settings.h"

namespace dryrig {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(Settings, SurviveARoundTrip) {
  const Folder folder;
  Settings kept;
  kept.width = 1600;
  kept.text_scale = 1.25;
  kept.thirds = false;
  kept.orbit.azimuth_rad = -1.25;
  kept.orbit.p_WTarget = {0.1, 0.2, 1.3};
  kept.plotted = {"jerk"};
  kept.recent = {"booklet", "out/one"};
  ASSERT_THAT(SaveSettings(kept, folder / "a/b/viewer.json"), IsEmpty()) << "folders are made";
  const LoadedSettings read = LoadSettings(folder / "a/b/viewer.json");
  EXPECT_THAT(read.note, IsEmpty());
  EXPECT_EQ(read.settings.width, 1600);
  EXPECT_EQ(read.settings.text_scale, 1.25);
  EXPECT_FALSE(read.settings.thirds);
  EXPECT_TRUE(read.settings.safe_area);
  EXPECT_EQ(read.settings.orbit.azimuth_rad, -1.25);
  EXPECT_EQ(read.settings.orbit.p_WTarget, Eigen::Vector3d(0.1, 0.2, 1.3));
  EXPECT_THAT(read.settings.plotted, ElementsAre("jerk"));
  EXPECT_THAT(read.settings.recent, ElementsAre("booklet", "out/one"));
}

TEST(Settings, AMissingFileIsNoNews) {
  const Folder folder;
  EXPECT_THAT(LoadSettings(folder / "viewer.json").note, IsEmpty());
  EXPECT_THAT(LoadSettings({}).note, IsEmpty());
}

TEST(Settings, ABrokenFileGivesDefaultsAndANote) {
  const Folder folder;
  for (const char* text : {"", "{", "[]", "null", R"({"dryrig": "viewer/9"})", R"({"dryrig": "viewer/1", "width": "wide"})",
                           R"({"dryrig": "viewer/1", "recent": [1, 2]})", "\xff\xfe"}) {
    const LoadedSettings read = LoadSettings(folder.Write("viewer.json", text));
    EXPECT_THAT(read.note, HasSubstr("viewer.json is not used")) << text;
    EXPECT_EQ(read.settings.width, Settings{}.width) << text;
    EXPECT_THAT(read.settings.recent, IsEmpty()) << text;
  }
}

TEST(Settings, NumbersOutOfRangeAreDrawnInside) {
  const Folder folder;
  const LoadedSettings read = LoadSettings(folder.Write(
      "viewer.json", R"({"dryrig": "viewer/1", "width": -5, "height": 1e30, "text_scale": 100, "orbit_distance_m": 0})"));
  EXPECT_THAT(read.note, IsEmpty());
  EXPECT_EQ(read.settings.width, 640);
  EXPECT_EQ(read.settings.height, 16384);
  EXPECT_EQ(read.settings.text_scale, 3);
  EXPECT_EQ(read.settings.orbit.distance_m, 0.2);
}

TEST(Settings, WhatCannotBeWrittenIsSaid) {
  const Folder folder;
  folder.Write("file", "no folder");
  EXPECT_THAT(SaveSettings({}, folder / "file/viewer.json"), HasSubstr("is not written"));
  EXPECT_THAT(SaveSettings({}, {}), HasSubstr("no home"));
}

TEST(Settings, TheLatestComesFirstOnceAndTwelveAreKept) {
  Settings settings;
  for (int i = 0; i < 20; ++i) Remember(&settings, "take " + std::to_string(i));
  Remember(&settings, "take 15");
  Remember(&settings, "");
  EXPECT_EQ(settings.recent.size(), 12u);
  EXPECT_THAT(std::vector(settings.recent.begin(), settings.recent.begin() + 3), ElementsAre("take 15", "take 19", "take 18"));
  EXPECT_EQ(std::count(settings.recent.begin(), settings.recent.end(), "take 15"), 1);
}

TEST(Settings, StandInTheUsersConfigFolder) {
  setenv("XDG_CONFIG_HOME", "/somewhere/config", 1);
  EXPECT_EQ(SettingsFile(), "/somewhere/config/dryrig/viewer.json");
  setenv("XDG_CONFIG_HOME", "not/absolute", 1);
  setenv("HOME", "/home/somebody", 1);
  EXPECT_EQ(SettingsFile(), "/home/somebody/.config/dryrig/viewer.json");
  unsetenv("XDG_CONFIG_HOME");
  EXPECT_EQ(SettingsFile(), "/home/somebody/.config/dryrig/viewer.json");
  unsetenv("HOME");
  EXPECT_EQ(SettingsFile(), "");
}

}  // namespace
}  // namespace dryrig
