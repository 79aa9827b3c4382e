#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace dryrig {

/// A rate that time code counts: exact frames a second num/den, counted in whole numbers of `nominal` a second. Drop-frame leaves
/// out numbers, not frames, so that the count keeps up with the clock: two (four at 59.94) at the start of each minute but
/// every tenth (SMPTE ST 12-1, rule from memory).
struct FrameRate {
  std::string name;
  int num = 25, den = 1, nominal = 25;
  bool drop = false;

  double Hz() const { return static_cast<double>(num) / den; }
};

/// 23.976, 24, 25, 29.97, 29.97-drop, 30, 50, 59.94, 59.94-drop, 60.
const std::vector<FrameRate>& FrameRates();
/// @throws InputError with the nearest name.
const FrameRate& FindFrameRate(const std::string& name);

/// `hh:mm:ss:ff`, with `;` before the frames where numbers are dropped; wraps at 24 hours. @pre frame >= 0
std::string ToTimeCode(int64_t frame, const FrameRate& rate);
/// Inverse. @throws InputError for another form, a number out of range, or one that drop-frame leaves out.
int64_t FromTimeCode(const std::string& text, const FrameRate& rate);

/// Number of the frame that begins at or last before this time.
int64_t FrameAt(double t_s, const FrameRate& rate);

}  // namespace dryrig
