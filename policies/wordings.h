#pragma once

#include <span>
#include <string_view>

namespace dryrig {

/// What a sentence may wish of the camera.
enum class Wish { kNothing, kCloser, kWider, kAbove, kLevel, kNormal };
inline constexpr int kWishes = 6;

/// Sentences that wish one thing in one manner of speaking, parted by line ends or " / ". All invented for this project.
struct Wording {
  Wish wish;
  std::string_view sentences;
};
std::span<const Wording> Wordings();

}  // namespace dryrig
