#include "sim/rng.h"

#include <cmath>
#include <numbers>

#include "sim/philox.h"

namespace dryrig {

namespace {

// Second half of the counter: what the words are drawn for, so that a uniform and a normal of one stream share no bits.
enum Draw : uint32_t { kBits = 0, kNormal = 1 };

Words4 DrawWords(uint64_t i, Draw draw, uint64_t key) {
  return Philox4x32({static_cast<uint32_t>(i), static_cast<uint32_t>(i >> 32), draw, 0},
                    {static_cast<uint32_t>(key), static_cast<uint32_t>(key >> 32)});
}

uint64_t Join(uint32_t low, uint32_t high) {
  return (uint64_t{high} << 32) | low;
}

double ToUnit(uint64_t bits) {
  return static_cast<double>(bits >> 11) * 0x1p-53;
}

}  // namespace

// Constants of the paper's table 2.
Words4 Philox4x32(Words4 counter, Words2 key) {
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

uint64_t HashText(std::string_view text) {
  uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return hash;
}

// The seed is spread by Philox itself, so that near seeds give far keys.
RandomStream::RandomStream(uint64_t seed, std::string_view purpose) {
  const uint64_t hash = HashText(purpose);
  const Words4 out = Philox4x32({static_cast<uint32_t>(seed), static_cast<uint32_t>(seed >> 32), 0x64727972, 0x69670001},
                                {static_cast<uint32_t>(hash), static_cast<uint32_t>(hash >> 32)});
  key_ = Join(out[0], out[1]);
}

uint64_t RandomStream::BitsAt(uint64_t i) const {
  const Words4 out = DrawWords(i, kBits, key_);
  return Join(out[0], out[1]);
}

double RandomStream::UniformAt(uint64_t i) const {
  return ToUnit(BitsAt(i));
}

double RandomStream::NormalAt(uint64_t i) const {
  const Words4 out = DrawWords(i, kNormal, key_);
  const double u = 1 - ToUnit(Join(out[0], out[1]));  // (0, 1]
  return std::sqrt(-2 * std::log(u)) * std::cos(2 * std::numbers::pi * ToUnit(Join(out[2], out[3])));
}

}  // namespace dryrig
