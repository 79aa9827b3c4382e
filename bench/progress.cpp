#include "bench/progress.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace dryrig {

namespace {

constexpr std::chrono::seconds kBetweenLines{5};

std::string Duration(double seconds) {
  const auto whole = static_cast<long>(std::ceil(seconds));
  if (whole < 60) return fmt::format("{} s", whole);
  if (whole < 3600) return fmt::format("{} min {:02} s", whole / 60, whole % 60);
  return fmt::format("{} h {:02} min", whole / 3600, whole / 60 % 60);
}

}  // namespace

Progress::Progress(size_t total, bool quiet, std::string things)
    : total_(total), things_(std::move(things)), quiet_(quiet), terminal_(isatty(STDERR_FILENO) != 0) {}

void Progress::Done(const std::string& what) {
  ++done_;
  if (quiet_) return;
  const auto now = Clock::now();
  if (!terminal_ && now - shown_ < kBetweenLines) return;
  shown_ = now;
  const double spent_s = std::chrono::duration<double>(now - start_).count();
  const double left_s = spent_s / static_cast<double>(done_) * static_cast<double>(total_ - done_);
  fmt::print(stderr, "{}{} of {} {}, {} left: {}{}", terminal_ ? "\r\033[K" : "", done_, total_, things_, Duration(left_s), what,
             terminal_ ? "" : "\n");
  std::fflush(stderr);
}

void Progress::Without(size_t things) {
  total_ -= std::min(things, total_ - done_);
}

void Progress::Say(const std::string& line) {
  fmt::print(stderr, "{}{}\n", terminal_ && !quiet_ ? "\r\033[K" : "", line);
}

void Progress::Finish() {
  if (quiet_) return;
  const double spent_s = std::chrono::duration<double>(Clock::now() - start_).count();
  fmt::print(stderr, "{}{} {} in {}\n", terminal_ ? "\r\033[K" : "", done_, things_, Duration(spent_s));
}

}  // namespace dryrig
