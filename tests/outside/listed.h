#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <type_traits>

// What tests against the outside world compare is listed as they run: check, value, what was expected, and the source, which is
// the comment over the test. Of one check that runs many times the row nearest to its limit is shown.

namespace dryrig::outside {

/// `used`: share of what is allowed, above 1 where it fails.
void List(const char* check, double value, const std::string& expected, double used, const char* file, int line);
std::string Text(double value);
std::string Allowed(double wanted, double by);

/// EXPECT_NEAR that lists.
template <class Value, class Wanted>
::testing::AssertionResult Near(const char* value_text, const char* wanted_text, const char* allowed_text, Value value,
                                Wanted wanted, double allowed, const char* file, int line) {
  const double v = static_cast<double>(value), w = static_cast<double>(wanted), off = std::abs(v - w);
  List(value_text, v, Allowed(w, allowed), allowed > 0 ? off / allowed : off > 0 ? 2 : 0, file, line);
  return ::testing::internal::DoubleNearPredFormat(value_text, wanted_text, allowed_text, v, w, allowed);
}

/// EXPECT_LT and EXPECT_GT that list, of numbers.
template <class A, class B>
void Bounded(const char* text, const A& a, const B& b, const char* sign, const char* file, int line) {
  if constexpr (std::is_arithmetic_v<A> && std::is_arithmetic_v<B>) {
    const double v = static_cast<double>(a), w = static_cast<double>(b);
    const double used = *sign == '<' ? (w > 0 ? v / w : 0.5) : (v > 0 ? w / v : 0.5);
    List(text, v, sign + Text(w), used, file, line);
  }
}

}  // namespace dryrig::outside

// Parameters have long names: they stand inside the tests' own scopes.
#undef EXPECT_NEAR
#define EXPECT_NEAR(value, wanted, allowed)                                                                                  \
  EXPECT_PRED_FORMAT3(([](const char* listed_v, const char* listed_w, const char* listed_a, const auto& listed_x,            \
                          const auto& listed_y, double listed_z) {                                                           \
                        return ::dryrig::outside::Near(listed_v, listed_w, listed_a, listed_x, listed_y, listed_z, __FILE__, \
                                                       __LINE__);                                                            \
                      }),                                                                                                    \
                      value, wanted, allowed)

#define DRYRIG_LISTED_COMPARE(a, b, sign, helper)                                                                   \
  EXPECT_PRED_FORMAT2(([](const char* listed_v, const char* listed_w, const auto& listed_x, const auto& listed_y) { \
                        ::dryrig::outside::Bounded(listed_v, listed_x, listed_y, sign, __FILE__, __LINE__);         \
                        return ::testing::internal::helper(listed_v, listed_w, listed_x, listed_y);                 \
                      }),                                                                                           \
                      a, b)
#undef EXPECT_LT
#define EXPECT_LT(a, b) DRYRIG_LISTED_COMPARE(a, b, "< ", CmpHelperLT)
#undef EXPECT_GT
#define EXPECT_GT(a, b) DRYRIG_LISTED_COMPARE(a, b, "> ", CmpHelperGT)
