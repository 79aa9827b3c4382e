#pragma once

#include <cstdint>
#include <string_view>

namespace dryrig {

/// Counter-based random numbers: Philox4x32-10 (Salmon et al., SC 2011), keyed by seed and purpose. Two purposes never share
/// a stream, and value i is the same whoever asked for the others. Distributions are our own: no two libraries agree on theirs.
class RandomStream {
 public:
  RandomStream(uint64_t seed, std::string_view purpose);

  /// 64 random bits number `i`; does not move the stream.
  uint64_t BitsAt(uint64_t i) const;
  /// [0, 1) and standard normal number `i` (Box–Muller on bits of its own); do not move the stream.
  double UniformAt(uint64_t i) const;
  double NormalAt(uint64_t i) const;

  /// The next of each kind; a stream has one counter.
  double Uniform() { return UniformAt(next_++); }
  double Uniform(double lo, double hi) { return lo + (hi - lo) * Uniform(); }
  double Normal() { return NormalAt(next_++); }

 private:
  uint64_t key_;
  uint64_t next_ = 0;
};

/// FNV-1a of a text, 64 bit: for keys, not for security.
uint64_t HashText(std::string_view text);

}  // namespace dryrig
