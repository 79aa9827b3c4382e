#include "policies/params.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <limits>
#include <set>

#include "policies/table.h"

namespace dryrig {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::ThrowsMessage;

TEST(PolicyParams, EveryDefaultLiesInItsOwnRangeAndIsExplained) {
  for (const PolicyEntry& entry : Policies()) {
    SCOPED_TRACE(entry.name);
    std::set<std::string> names;
    for (const ParamInfo& param : entry.params()) {
      SCOPED_TRACE(param.name);
      EXPECT_TRUE(names.insert(param.name).second) << "two parameters of one name";
      EXPECT_LT(param.lo, param.hi);
      EXPECT_GE(param.value, param.lo);
      EXPECT_LE(param.value, param.hi);
      EXPECT_FALSE(param.meaning.empty());
      EXPECT_FALSE(param.unit.empty());
    }
    EXPECT_FALSE(names.empty());
  }
}

TEST(PolicyParams, BothEndsOfEveryRangeAreTakenAndWhatLiesBeyondIsRefusedByNameValueAndLimit) {
  for (const PolicyEntry& entry : Policies()) {
    SCOPED_TRACE(entry.name);
    for (const ParamInfo& param : entry.params()) {
      SCOPED_TRACE(param.name);
      EXPECT_NE(entry.make({{param.name, param.lo}}), nullptr);
      EXPECT_NE(entry.make({{param.name, param.hi}}), nullptr);
      for (const double bad : {param.lo - 1, param.hi + 1, std::numeric_limits<double>::quiet_NaN()}) {
        EXPECT_THAT(
            [&] {
              entry.make({{param.name, bad}});
            },
            ThrowsMessage<InputError>(
                AllOf(HasSubstr(param.name), HasSubstr(fmt::format("{}", bad)), HasSubstr(fmt::format("{}", param.hi)))));
      }
    }
  }
}

TEST(PolicyParams, AnUnknownKeyIsRefusedWithTheNearest) {
  EXPECT_THAT(
      [] {
        FindPolicy("follow").make({{"dead_bend", 0.1}});
      },
      ThrowsMessage<InputError>(AllOf(HasSubstr("dead_bend"), HasSubstr("dead_band"))));
}

TEST(PolicyParams, AnUnknownPolicyIsRefusedWithTheNearest) {
  EXPECT_THAT([] { FindPolicy("planer"); }, ThrowsMessage<InputError>(AllOf(HasSubstr("planer"), HasSubstr("planner"))));
}

}  // namespace
}  // namespace dryrig
