#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// The file on which a child finds its end.
inline constexpr int kHostSocket = 3;

/// One end of a line of messages between two processes. A message has a kind, a letter, and a body.
struct Message {
  char kind = 0;
  std::string body;
};

/// Sends and receives on a socket that it owns. @throws RunError where the other side has gone.
class Channel {
 public:
  explicit Channel(int socket) : socket_(socket) {}
  ~Channel();
  Channel(const Channel&) = delete;
  Channel& operator=(const Channel&) = delete;

  void Send(char kind, std::string_view body) const;
  /// Nothing more either way: the other side sees an end.
  void Close() const;
  /// Waits for as long as it takes; false: the other side has gone.
  bool Receive(Message* out) const { return Receive(-1, out) == Got::kMessage; }
  enum class Got { kMessage, kNothing, kEnd };
  /// Waits `patience_s` at most, for ever where that is negative.
  Got Receive(double patience_s, Message* out) const;

 private:
  int socket_;
};

/// A child process at the other end of a channel, which is its file 3; what it prints goes to standard error. Told
/// of the end, and killed where that does not end it within a second.
class ChildProcess {
 public:
  /// `arguments[0]` is looked for in PATH. @throws RunError where it does not start.
  explicit ChildProcess(std::vector<std::string> arguments);
  ~ChildProcess();
  ChildProcess(const ChildProcess&) = delete;
  ChildProcess& operator=(const ChildProcess&) = delete;

  const Channel& channel() const { return channel_; }
  /// Ends it if it has not ended; how it did: "exit code 1", "signal 11 (Segmentation fault)".
  std::string End();
  /// Waits a moment for one that has closed its end; how it ended.
  std::string Ended();

 private:
  ChildProcess(int ours, int theirs, std::vector<std::string> arguments);
  static std::vector<int> MakeSockets();
  explicit ChildProcess(const std::vector<int>& sockets, std::vector<std::string> arguments)
      : ChildProcess(sockets[0], sockets[1], std::move(arguments)) {}

  Channel channel_;
  int pid_ = 0;
};

/// In a child: ends with the process that started it.
void EndWithParent();

}  // namespace dryrig
