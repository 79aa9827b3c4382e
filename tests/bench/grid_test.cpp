#include "bench/grid.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "bench/scorecard.h"
#include "scenes/error.h"
#include "tests/bench/child.h"

namespace dryrig {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Property;
using ::testing::Throws;
using ::testing::UnorderedElementsAre;

class Grid : public ::testing::Test {
 protected:
  Grid() {
    choice_.lessons = {folder_.Write("short.yaml", kShortLesson)};
    choice_.policies = {"tripod", "follow"};
    choice_.people = {"avery", "ellis"};
  }
  Folder folder_;
  Suite choice_;
  SceneShelf shelf_;
};

TEST_F(Grid, CrossesEverythingInOneOrderWithDefaultsFilledIn) {
  choice_.seeds = {1, 2};
  const std::vector<GridTake> grid = MakeGrid(choice_, shelf_);
  std::vector<std::string> order;
  for (const GridTake& take : grid) order.push_back(fmt::format("{} {} {}", take.id.person, take.id.seed, take.id.policy));
  EXPECT_THAT(order, ElementsAre("avery 1 tripod", "avery 1 follow", "avery 2 tripod", "avery 2 follow", "ellis 1 tripod",
                                 "ellis 1 follow", "ellis 2 tripod", "ellis 2 follow"));
  EXPECT_EQ(grid[0].id.bench, "study-table");
  EXPECT_EQ(grid[0].id.sensing, "good");
  EXPECT_EQ(grid[0].id.camera, "prime");
}

TEST_F(Grid, AnIdentityIsThatOfTheTakeThatRuns) {
  const std::vector<GridTake> grid = MakeGrid(choice_, shelf_);
  RunGrid(grid, {3}, 1, shelf_, [&](const RanTake& ran) {
    EXPECT_EQ(ran.error, "");
    EXPECT_EQ(ToJson(ran.take.id), ToJson(grid[3].id));
  });
}

TEST_F(Grid, ATakeThatFailsIsToldAndTheOthersGoOn) {
  std::vector<GridTake> grid = MakeGrid(choice_, shelf_);
  grid[1].choice.policy.values["no_such"] = 1;
  std::vector<size_t> done, failed;
  RunGrid(grid, {0, 1, 2, 3}, 2, shelf_, [&](const RanTake& ran) {
    (ran.error.empty() ? done : failed).push_back(ran.index);
    if (!ran.error.empty()) {
      EXPECT_THAT(ran.error, HasSubstr("no_such"));
    }
  });
  EXPECT_THAT(done, UnorderedElementsAre(0, 2, 3));
  EXPECT_THAT(failed, ElementsAre(1));
}

TEST_F(Grid, WhatTheCallerThrowsStopsTheWork) {
  const std::vector<GridTake> grid = MakeGrid(choice_, shelf_);
  int calls = 0;
  EXPECT_THROW(RunGrid(grid, {0, 1, 2, 3}, 2, shelf_,
                       [&](const RanTake&) {
                         ++calls;
                         throw RunError("disk full");
                       }),
               RunError);
  EXPECT_EQ(calls, 1);
}

TEST_F(Grid, NothingToRunIsDoneAtOnce) {
  RunGrid(MakeGrid(choice_, shelf_), {}, 8, shelf_, [](const RanTake&) { FAIL() << "nothing was asked for"; });
}

std::vector<std::string> Order(const std::vector<GridTake>& grid) {
  std::vector<std::string> out;
  for (const GridTake& take : grid) out.push_back(fmt::format("{} {} {}", take.id.person, take.id.seed, take.policy));
  return out;
}

TEST_F(Grid, RulesLeaveOutAndAddTakes) {
  SuiteRule no_follow, another;
  no_follow.policy = "follow", no_follow.person = "ellis";
  another.policy = "follow:dead_band=0.2", another.person = "avery", another.seed = 7;
  choice_.exclude = {no_follow};
  choice_.include = {another};
  EXPECT_THAT(Order(MakeGrid(choice_, shelf_)),
              ElementsAre("avery 1 tripod", "avery 1 follow", "ellis 1 tripod", "avery 7 follow:dead_band=0.2"));
}

TEST_F(Grid, ARuleThatNamesNothingIsRefused) {
  SuiteRule rule;
  rule.person = "casey";
  choice_.exclude = {rule};
  EXPECT_THAT([&] { MakeGrid(choice_, shelf_); },
              Throws<InputError>(Property(&InputError::what, HasSubstr("exclude {person: casey} names no take"))));
  rule = SuiteRule();
  rule.seed = 1;
  choice_.exclude = {rule};
  EXPECT_THAT([&] { MakeGrid(choice_, shelf_); }, Throws<InputError>(Property(&InputError::what, HasSubstr("excludes all"))));
}

TEST_F(Grid, ShardsAreTheGridInParts) {
  choice_.seeds = {1, 2};
  const std::vector<GridTake> whole = MakeGrid(choice_, shelf_);
  std::vector<size_t> places;
  for (int k = 1; k <= 3; ++k) {
    for (const GridTake& take : TakesOf({k, 3}, whole)) places.push_back(take.place);
  }
  EXPECT_THAT(places, ElementsAre(0, 3, 6, 1, 4, 7, 2, 5));
  EXPECT_EQ(ParseShard("2/4").k, 2);
  EXPECT_EQ(ParseShard("2/4").n, 4);
  for (const char* bad : {"", "2", "0/4", "5/4", "2/", "/4", "a/b", "1/4x", "-1/4"})
    EXPECT_THROW(ParseShard(bad), InputError) << bad;
}

TEST_F(Grid, APersonWhoCannotReachIsRefusedBeforeAnythingRuns) {
  std::string far = kShortLesson;
  far.replace(far.find("- point: {at: cup, for_s: 2,"), 28, "- reach: {to: cup,");
  far.replace(far.find("[80, 230]"), 9, "[650, 640]");
  choice_.lessons = {folder_.Write("far.yaml", far)};
  EXPECT_THAT([&] { MakeGrid(choice_, shelf_); }, Throws<InputError>(Property(&InputError::what, HasSubstr("cup"))));
}

}  // namespace
}  // namespace dryrig
