#pragma once

#include <array>
#include <cstdint>

namespace dryrig {

using Words4 = std::array<uint32_t, 4>;
using Words2 = std::array<uint32_t, 2>;

/// Inside of sim: Philox4x32 with 10 rounds (Salmon, Moraes, Dror, Shaw: Parallel random numbers: as easy as 1, 2, 3, SC 2011).
Words4 Philox4x32(Words4 counter, Words2 key);

}  // namespace dryrig
