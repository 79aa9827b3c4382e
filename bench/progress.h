#pragma once

#include <chrono>
#include <cstddef>
#include <string>

namespace dryrig {

/// How far a grid or a film is and how long it will take, on standard error: one line that is rewritten on a terminal, else a
/// line every few seconds. The only place that reads a clock.
class Progress {
 public:
  Progress(size_t total, bool quiet, std::string things = "takes");
  void Done(const std::string& what);
  /// So many need not be done after all.
  void Without(size_t things);
  /// A line that stays, such as a failure.
  void Say(const std::string& line);
  void Finish();

 private:
  using Clock = std::chrono::steady_clock;
  size_t total_, done_ = 0;
  std::string things_;
  bool quiet_, terminal_;
  Clock::time_point start_ = Clock::now(), shown_ = start_;
};

}  // namespace dryrig
