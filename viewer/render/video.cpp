#include "viewer/render/video.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <signal.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <string>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

[[noreturn]] void Fail(const std::string& what, int error) {
  if (error == ENOENT) throw RunError("no film can be written: there is no ffmpeg (Debian package ffmpeg)");
  throw RunError(fmt::format("no film can be written: {}: {}", what, std::strerror(error)));
}

}  // namespace

struct VideoWriter::Impl {
  fs::path file, beside;
  int width = 0, height = 0;
  int pipe = -1;   // our end; a socket, as writing to a socket whose reader has gone can be told not to raise a signal
  int words = -1;  // what ffmpeg says
  pid_t child = 0;

  ~Impl() {
    if (child > 0) kill(child, SIGKILL);
    End();
    if (words >= 0) close(words);
    std::error_code ignored;
    fs::remove(beside, ignored);
  }
  /// Closes the film and waits; the child's status.
  int End() {
    if (pipe >= 0) close(pipe);
    pipe = -1;
    int status = 0;
    while (child > 0 && waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    child = 0;
    return status;
  }
  std::string Words() const {
    std::string text(600, '\0');
    const ssize_t length = pread(words, text.data(), text.size(), 0);
    text.resize(static_cast<size_t>(std::max<ssize_t>(length, 0)));
    while (!text.empty() && text.back() == '\n') text.pop_back();
    return text.empty() ? "it says nothing" : text;
  }
};

VideoWriter::VideoWriter(const fs::path& file, int width, int height, double frames_per_s) : impl_(std::make_unique<Impl>()) {
  impl_->file = file;
  impl_->beside = file.string() + ".part";
  impl_->width = width;
  impl_->height = height;
  int ends[2];
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0) Fail("socketpair", errno);
  impl_->pipe = ends[0];
  impl_->words = memfd_create("ffmpeg", MFD_CLOEXEC);
  constexpr int kBuffer = 1 << 20;
  setsockopt(ends[0], SOL_SOCKET, SO_SNDBUF, &kBuffer, sizeof kBuffer);

  // Colours as HDTV has them (ITU-R BT.709), said in the stream. -y: the part beside is ours.
  std::vector<std::string> arguments{"ffmpeg",
                                     "-hide_banner",
                                     "-loglevel",
                                     "error",
                                     "-f",
                                     "rawvideo",
                                     "-pixel_format",
                                     "rgb24",
                                     "-video_size",
                                     fmt::format("{}x{}", width, height),
                                     "-framerate",
                                     fmt::format("{}", frames_per_s),
                                     "-i",
                                     "pipe:0",
                                     "-vf",
                                     "scale=out_color_matrix=bt709:out_range=tv",
                                     "-c:v",
                                     "libx264",
                                     "-preset",
                                     "veryfast",
                                     "-crf",
                                     "20",
                                     "-pix_fmt",
                                     "yuv420p",
                                     "-colorspace",
                                     "bt709",
                                     "-color_primaries",
                                     "bt709",
                                     "-color_trc",
                                     "bt709",
                                     "-movflags",
                                     "+faststart",
                                     "-f",
                                     "mp4",
                                     "-y",
                                     "file:" + impl_->beside.string()};
  std::vector<char*> argv;
  for (std::string& argument : arguments) argv.push_back(argument.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, ends[1], STDIN_FILENO);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, impl_->words, STDERR_FILENO);
  const int error = posix_spawnp(&impl_->child, "ffmpeg", &actions, nullptr, argv.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  close(ends[1]);
  if (error != 0) {
    impl_->child = 0;
    Fail("ffmpeg does not start", error);
  }
}

VideoWriter::~VideoWriter() = default;

void VideoWriter::Add(const Picture& picture) {
  const uint8_t* from = picture.rgb.data();
  size_t left = picture.rgb.size();
  while (left > 0) {
    const ssize_t sent = send(impl_->pipe, from, left, MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent < 0) {
      impl_->End();
      throw RunError(fmt::format("{} could not be written, ffmpeg has ended: {}", impl_->file.string(), impl_->Words()));
    }
    from += sent;
    left -= static_cast<size_t>(sent);
  }
}

void VideoWriter::Finish() {
  const int status = impl_->End();
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
    throw RunError(fmt::format("{} could not be written, ffmpeg fails: {}", impl_->file.string(), impl_->Words()));
  std::error_code error;
  fs::rename(impl_->beside, impl_->file, error);
  if (error) throw RunError(fmt::format("{} could not be written: {}", impl_->file.string(), error.message()));
}

}  // namespace dryrig
