#include "sim/rng.h"

#include <gtest/gtest.h>

#include "sim/philox.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

// Known answers that the authors ship with the generator (Random123, kat_vectors, philox4x32 10); from memory.
TEST(PublishedRandom, PhiloxGivesItsAuthorsKnownAnswers) {
  EXPECT_EQ(Philox4x32({0, 0, 0, 0}, {0, 0}), (Words4{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  const uint32_t ones = 0xffffffff;
  EXPECT_EQ(Philox4x32({ones, ones, ones, ones}, {ones, ones}), (Words4{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
  EXPECT_EQ(Philox4x32({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}),
            (Words4{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}));
}

// Fowler, Noll and Vo's own test vectors for 64-bit FNV-1a; from memory.
TEST(PublishedRandom, TextHashGivesTheFnv1aVectors) {
  EXPECT_EQ(HashText(""), 0xcbf29ce484222325ULL);
  EXPECT_EQ(HashText("a"), 0xaf63dc4c8601ec8cULL);
  EXPECT_EQ(HashText("foobar"), 0x85944171f73967e8ULL);
}

}  // namespace
}  // namespace dryrig
