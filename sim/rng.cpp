#include "sim/rng.h"

#include <array>
#include <cmath>
#include <numbers>

namespace dryrig {

namespace {

// Philox4x32 with 10 rounds; constants of the paper's table 2.
std::array<uint32_t, 4> Philox(std::array<uint32_t, 4> counter, std::array<uint32_t, 2> key) {
  for (int round = 0; round < 10; ++round) {
    const uint64_t a = uint64_t{0xD2511F53} * counter[0];
    const uint64_t b = uint64_t{0xCD9E8D57} * counter[2];
    counter = {static_cast<uint32_t>(b >> 32) ^ counter[1] ^ key[0], static_cast<uint32_t>(b),
               static_cast<uint32_t>(a >> 32) ^ counter[3] ^ key[1], static_cast<uint32_t>(a)};
    key[0] += 0x9E3779B9;
    key[1] += 0xBB67AE85;
  }
  return counter;
}

}  // namespace

uint64_t HashText(std::string_view text) {
  uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return hash;
}

// The seed is spread by Philox itself, so that near seeds give far keys.
RandomStream::RandomStream(uint64_t seed, std::string_view purpose) {
  const uint64_t hash = HashText(purpose);
  const auto out = Philox({static_cast<uint32_t>(seed), static_cast<uint32_t>(seed >> 32), 0x64727972, 0x69670001},
                          {static_cast<uint32_t>(hash), static_cast<uint32_t>(hash >> 32)});
  key_ = (uint64_t{out[1]} << 32) | out[0];
}

uint64_t RandomStream::BitsAt(uint64_t i) const {
  const auto out = Philox({static_cast<uint32_t>(i), static_cast<uint32_t>(i >> 32), 0, 0},
                          {static_cast<uint32_t>(key_), static_cast<uint32_t>(key_ >> 32)});
  return (uint64_t{out[1]} << 32) | out[0];
}

double RandomStream::UniformAt(uint64_t i) const { return static_cast<double>(BitsAt(i) >> 11) * 0x1p-53; }

double RandomStream::NormalAt(uint64_t i) const {
  const double u = 1 - UniformAt(2 * i);  // (0, 1]
  return std::sqrt(-2 * std::log(u)) * std::cos(2 * std::numbers::pi * UniformAt(2 * i + 1));
}

}  // namespace dryrig
