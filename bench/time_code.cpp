#include "bench/time_code.h"

#include <fmt/format.h>

#include <cmath>
#include <cstdio>

#include "scenes/error.h"

namespace dryrig {

namespace {

/// Numbers left out at the start of a minute.
int DroppedAMinute(const FrameRate& rate) {
  return rate.drop ? rate.nominal / 15 : 0;
}

int64_t FramesInTenMinutes(const FrameRate& rate) {
  return int64_t{600} * rate.nominal - 9 * DroppedAMinute(rate);
}

}  // namespace

const std::vector<FrameRate>& FrameRates() {
  static const std::vector<FrameRate> rates{{"23.976", 24000, 1001, 24, false},
                                            {"24", 24, 1, 24, false},
                                            {"25", 25, 1, 25, false},
                                            {"29.97", 30000, 1001, 30, false},
                                            {"29.97-drop", 30000, 1001, 30, true},
                                            {"30", 30, 1, 30, false},
                                            {"50", 50, 1, 50, false},
                                            {"59.94", 60000, 1001, 60, false},
                                            {"59.94-drop", 60000, 1001, 60, true},
                                            {"60", 60, 1, 60, false}};
  return rates;
}

const FrameRate& FindFrameRate(const std::string& name) {
  std::vector<std::string> known;
  for (const FrameRate& rate : FrameRates()) {
    if (rate.name == name) return rate;
    known.push_back(rate.name);
  }
  throw InputError(fmt::format("no frame rate \"{}\"; known: {}", name.substr(0, 32), fmt::join(known, ", ")));
}

std::string ToTimeCode(int64_t frame, const FrameRate& rate) {
  const int dropped = DroppedAMinute(rate);
  const int64_t ten = FramesInTenMinutes(rate), minute = int64_t{60} * rate.nominal - dropped;
  int64_t number = frame % (144 * ten);
  if (dropped > 0) {
    const int64_t tens = number / ten, rest = number % ten;
    // The first minute of ten is whole.
    const int64_t minutes = rest < int64_t{60} * rate.nominal ? 0 : 1 + (rest - int64_t{60} * rate.nominal) / minute;
    number += dropped * (9 * tens + minutes);
  }
  const int64_t second = number / rate.nominal;
  return fmt::format("{:02}:{:02}:{:02}{}{:02}", second / 3600, second / 60 % 60, second % 60, rate.drop ? ';' : ':',
                     number % rate.nominal);
}

int64_t FromTimeCode(const std::string& text, const FrameRate& rate) {
  int h = 0, m = 0, s = 0, f = 0, read = 0;
  char mark = 0;
  const bool formed = std::sscanf(text.c_str(), "%2d:%2d:%2d%c%2d%n", &h, &m, &s, &mark, &f, &read) == 5 &&
                      read == static_cast<int>(text.size()) && text.size() == 11 && mark == (rate.drop ? ';' : ':') &&
                      text.find_first_not_of("0123456789:;") == std::string::npos;
  if (!formed)
    throw InputError(
        fmt::format("time code \"{}\": expected hh:mm:ss{}ff at {}", text.substr(0, 32), rate.drop ? ';' : ':', rate.name));
  if (h > 23 || m > 59 || s > 59 || f >= rate.nominal) {
    throw InputError(
        fmt::format("time code {} is out of range at {}: at most 23:59:59:{:02}", text, rate.name, rate.nominal - 1));
  }
  const int dropped = DroppedAMinute(rate);
  if (s == 0 && f < dropped && m % 10 != 0) {
    throw InputError(fmt::format("time code {} does not exist at {}: drop-frame leaves it out", text, rate.name));
  }
  const int64_t minutes = int64_t{60} * h + m;
  return (minutes * 60 + s) * rate.nominal + f - dropped * (minutes - minutes / 10);
}

int64_t FrameAt(double t_s, const FrameRate& rate) {
  // A time that is a frame's own start to within rounding belongs to that frame.
  return static_cast<int64_t>(std::floor(t_s * rate.num / rate.den + 1e-6));
}

}  // namespace dryrig
