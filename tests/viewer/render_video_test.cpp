// Films, checked with ffprobe, and what happens when ffmpeg is not there or gives up.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cstdio>
#include <cstdlib>
#include <fstream>

#include "scenes/error.h"
#include "viewer/render/video.h"

namespace dryrig {
namespace {

namespace fs = std::filesystem;
using ::testing::AllOf;
using ::testing::HasSubstr;
using ::testing::ThrowsMessage;

class RenderVideo : public ::testing::Test {
 protected:
  RenderVideo() : path_(getenv("PATH")), folder_(fs::temp_directory_path() / fmt::format("dryrig-video-{}", getpid())) {
    fs::create_directory(folder_);
  }
  ~RenderVideo() override {
    setenv("PATH", path_.c_str(), 1);
    fs::remove_all(folder_);
  }
  std::string Probe(const std::string& entries) const {
    const std::string command =
        fmt::format("ffprobe -v error -select_streams v -count_frames -show_entries {} -of default=nw=1 '{}'", entries,
                    (folder_ / "a.mp4").string());
    FILE* pipe = popen(command.c_str(), "r");
    std::string out;
    char buffer[256];
    while (fgets(buffer, sizeof buffer, pipe) != nullptr) out += buffer;
    pclose(pipe);
    return out;
  }
  /// A program of that name in a folder of its own, which alone is searched.
  void OnlyProgram(const std::string& name, const std::string& script) const {
    std::ofstream(folder_ / name) << script;
    fs::permissions(folder_ / name, fs::perms::owner_all);
    setenv("PATH", folder_.c_str(), 1);
  }
  static Picture Grey(uint8_t level) { return {64, 36, std::vector<uint8_t>(3 * 64 * 36, level)}; }
  size_t Files() const { return static_cast<size_t>(std::distance(fs::directory_iterator(folder_), {})); }

  std::string path_;
  fs::path folder_;
};

TEST_F(RenderVideo, AFilmHasEveryFrameAtItsRate) {
  VideoWriter writer(folder_ / "a.mp4", 64, 36, 25);
  for (int i = 0; i < 40; ++i) writer.Add(Grey(static_cast<uint8_t>(6 * i)));
  EXPECT_FALSE(fs::exists(folder_ / "a.mp4")) << "not before it is whole";
  writer.Finish();
  EXPECT_THAT(Probe("stream=codec_name,width,height,pix_fmt,r_frame_rate,nb_read_frames,duration"),
              AllOf(HasSubstr("codec_name=h264"), HasSubstr("width=64"), HasSubstr("height=36"), HasSubstr("pix_fmt=yuv420p"),
                    HasSubstr("r_frame_rate=25/1"), HasSubstr("nb_read_frames=40"), HasSubstr("duration=1.600000")));
  EXPECT_EQ(Files(), 1u);
}

TEST_F(RenderVideo, AFilmThatIsNotFinishedLeavesNothing) {
  {
    VideoWriter writer(folder_ / "a.mp4", 64, 36, 25);
    for (int i = 0; i < 40; ++i) writer.Add(Grey(9));
  }
  EXPECT_EQ(Files(), 0u);
}

TEST_F(RenderVideo, NoFfmpegSaysWhichPackageHasIt) {
  setenv("PATH", folder_.c_str(), 1);
  EXPECT_THAT([&] { VideoWriter(folder_ / "a.mp4", 64, 36, 25); }, ThrowsMessage<RunError>(HasSubstr("package ffmpeg")));
}

TEST_F(RenderVideo, WhatFfmpegSaysIsToldAndNothingIsLeft) {
  OnlyProgram("ffmpeg", "#!/bin/sh\necho 'the disk is full of cats' >&2\nexit 1\n");
  const auto write = [&] {
    VideoWriter writer(folder_ / "a.mp4", 64, 36, 25);
    for (int i = 0; i < 4000; ++i) writer.Add(Grey(9));  // more than any pipe holds
    writer.Finish();
  };
  EXPECT_THAT(write, ThrowsMessage<RunError>(HasSubstr("full of cats")));
  // One frame fits in the pipe: then it is Finish that tells.
  const auto write_one = [&] {
    VideoWriter writer(folder_ / "a.mp4", 64, 36, 25);
    writer.Finish();
  };
  EXPECT_THAT(write_one, ThrowsMessage<RunError>(HasSubstr("full of cats")));
  EXPECT_EQ(Files(), 1u) << "the false ffmpeg alone";
}

}  // namespace
}  // namespace dryrig
