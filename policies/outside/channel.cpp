#include "policies/outside/channel.h"

#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr uint64_t kLongestBody = 1u << 30;

using Clock = std::chrono::steady_clock;

struct Header {
  uint64_t size;
  char kind;
};

/// Milliseconds until the end, for poll.
int Left(bool for_ever, Clock::time_point end) {
  if (for_ever) return -1;
  const auto left = std::chrono::ceil<std::chrono::milliseconds>(end - Clock::now()).count();
  return static_cast<int>(std::clamp<int64_t>(left, 0, 1'000'000'000));
}

std::string HowItEnded(int status) {
  if (WIFSIGNALED(status)) return fmt::format("signal {} ({})", WTERMSIG(status), strsignal(WTERMSIG(status)));
  return fmt::format("exit code {}", WEXITSTATUS(status));
}

}  // namespace

Channel::~Channel() {
  close(socket_);
}

void Channel::Close() const {
  shutdown(socket_, SHUT_RDWR);
}

void Channel::Send(char kind, std::string_view body) const {
  std::string all(sizeof(Header), '\0');
  const Header header{body.size(), kind};
  std::memcpy(all.data(), &header, sizeof header);
  all += body;
  for (size_t sent = 0; sent < all.size();) {
    const ssize_t n = send(socket_, all.data() + sent, all.size() - sent, MSG_NOSIGNAL);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) throw RunError(fmt::format("the other process has gone: {}", std::strerror(errno)));
    sent += static_cast<size_t>(n);
  }
}

Channel::Got Channel::Receive(double patience_s, Message* out) const {
  const bool for_ever = patience_s < 0;
  const auto end =
      Clock::now() + std::chrono::duration_cast<Clock::duration>(std::chrono::duration<double>(std::max(patience_s, 0.0)));
  const auto read = [&](char* into, size_t size) {
    while (size > 0) {
      pollfd file{socket_, POLLIN, 0};
      const int ready = poll(&file, 1, Left(for_ever, end));
      if (ready < 0 && errno == EINTR) continue;
      if (ready == 0) return Got::kNothing;
      const ssize_t n = recv(socket_, into, size, 0);
      if (n < 0 && errno == EINTR) continue;
      if (n <= 0) return Got::kEnd;
      into += n;
      size -= static_cast<size_t>(n);
    }
    return Got::kMessage;
  };
  Header header{};
  if (const Got got = read(reinterpret_cast<char*>(&header), sizeof header); got != Got::kMessage) return got;
  if (header.size > kLongestBody) return Got::kEnd;
  out->kind = header.kind;
  out->body.resize(header.size);
  return read(out->body.data(), out->body.size());
}

std::vector<int> ChildProcess::MakeSockets() {
  int both[2];
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, both) != 0)
    throw RunError(fmt::format("no sockets for a policy's process: {}", std::strerror(errno)));
  return {both[0], both[1]};
}

ChildProcess::ChildProcess(std::vector<std::string> arguments) : ChildProcess(MakeSockets(), std::move(arguments)) {}

ChildProcess::ChildProcess(int ours, int theirs, std::vector<std::string> arguments) : channel_(ours) {
  std::vector<char*> argv;
  for (std::string& argument : arguments) argv.push_back(argument.data());
  argv.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_adddup2(&actions, theirs, kHostSocket);
  posix_spawn_file_actions_adddup2(&actions, STDERR_FILENO, STDOUT_FILENO);
  pid_t pid = 0;
  const int error = posix_spawnp(&pid, argv[0], &actions, nullptr, argv.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  close(theirs);
  if (error != 0) throw RunError(fmt::format("{} does not start: {}", arguments[0], std::strerror(error)));
  pid_ = pid;
}

ChildProcess::~ChildProcess() {
  channel_.Close();
  Ended();
}

std::string ChildProcess::End() {
  if (pid_ == 0) return "ended before";
  kill(pid_, SIGKILL);
  int status = 0;
  while (waitpid(pid_, &status, 0) < 0 && errno == EINTR) {
  }
  pid_ = 0;
  return HowItEnded(status);
}

std::string ChildProcess::Ended() {
  for (int i = 0; i < 500 && pid_ != 0; ++i) {
    int status = 0;
    if (waitpid(pid_, &status, WNOHANG) == pid_) {
      pid_ = 0;
      return HowItEnded(status);
    }
    usleep(2'000);
  }
  return End();
}

void EndWithParent() {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
}

}  // namespace dryrig
