#pragma once

#include <filesystem>
#include <memory>

#include "viewer/render/picture.h"

namespace dryrig {

/// Writes pictures as an H.264 film (yuv420p, MP4) by a child process `ffmpeg`, as fast as it takes them.
class VideoWriter {
 public:
  /// @pre width and height are even. @throws RunError if there is no ffmpeg, with the package that has it.
  VideoWriter(const std::filesystem::path& file, int width, int height, double frames_per_s);
  /// Without Finish nothing is left behind.
  ~VideoWriter();
  VideoWriter(const VideoWriter&) = delete;
  VideoWriter& operator=(const VideoWriter&) = delete;

  /// @pre the picture has the film's size. @throws RunError with ffmpeg's own words if it has ended.
  void Add(const Picture& picture);
  /// The file is there, whole, once this returns. @throws RunError.
  void Finish();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace dryrig
