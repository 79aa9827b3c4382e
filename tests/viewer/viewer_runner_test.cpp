// Background work: progress, results, failure, cancelling, one job after another; the caller never waits.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <stdexcept>
#include <thread>

#include "viewer/runner.h"

namespace dryrig {
namespace {

using IntRunner = Runner<int>;
using namespace std::chrono_literals;

std::vector<IntRunner::News> PollUntilIdle(IntRunner* runner) {
  std::vector<IntRunner::News> all;
  const auto give_up = std::chrono::steady_clock::now() + 20s;
  while (runner->state() && std::chrono::steady_clock::now() < give_up) {
    for (auto& news : runner->Poll()) all.push_back(std::move(news));
    std::this_thread::sleep_for(1ms);
  }
  for (auto& news : runner->Poll()) all.push_back(std::move(news));
  return all;
}
/// Runs until told to stop.
void Endless(IntRunner::Desk& desk) {
  while (desk.GoOn(0.5)) std::this_thread::sleep_for(1ms);
}

TEST(Runner, DeliversResultsInOrderAndIsIdleAfter) {
  IntRunner runner;
  EXPECT_FALSE(runner.state());
  runner.Start("counting", [](IntRunner::Desk& desk) {
    desk.Deliver(1);
    desk.Deliver(2);
  });
  const auto news = PollUntilIdle(&runner);
  ASSERT_EQ(news.size(), 2u);
  EXPECT_EQ(news[0].result, 1);
  EXPECT_EQ(news[1].result, 2);
  EXPECT_FALSE(runner.state());
}

TEST(Runner, TellsHowFarItIsAndWhatIsLeft) {
  IntRunner runner;
  std::atomic<bool> told = false, enough = false;
  runner.Start("quarter", [&](IntRunner::Desk& desk) {
    desk.GoOn(0.25);
    told = true;
    while (!enough) std::this_thread::sleep_for(1ms);
  });
  while (!told) std::this_thread::sleep_for(1ms);
  std::this_thread::sleep_for(5ms);
  const auto state = runner.state();
  ASSERT_TRUE(state);
  EXPECT_EQ(state->what, "quarter");
  EXPECT_EQ(state->share, 0.25);
  ASSERT_TRUE(state->left_s);
  EXPECT_NEAR(*state->left_s, 3 * state->elapsed_s, 1e-9) << "a quarter is done, so three times as long is left";
  enough = true;
  PollUntilIdle(&runner);
}

TEST(Runner, AFailureIsHandedOverAsItWasThrown) {
  IntRunner runner;
  runner.Start("failing", [](IntRunner::Desk& desk) {
    desk.Deliver(7);
    throw InputError("lesson.yaml:3:1: no such beat");
  });
  const auto news = PollUntilIdle(&runner);
  ASSERT_EQ(news.size(), 2u);
  EXPECT_EQ(news[0].result, 7);
  ASSERT_TRUE(news[1].failure);
  EXPECT_THROW(std::rethrow_exception(news[1].failure), InputError);
}

TEST(Runner, CancelStopsAndSaysSo) {
  IntRunner runner;
  runner.Start("endless", Endless);
  runner.Cancel();
  ASSERT_TRUE(runner.state());
  EXPECT_TRUE(runner.state()->stopping);
  const auto news = PollUntilIdle(&runner);
  ASSERT_EQ(news.size(), 1u);
  EXPECT_TRUE(news[0].cancelled);
  EXPECT_FALSE(news[0].failure);
}

TEST(Runner, ANewJobTakesTheOldOnesPlaceAndNothingOfItIsSeen) {
  IntRunner runner;
  std::atomic<bool> running = false;
  runner.Start("old", [&](IntRunner::Desk& desk) {
    running = true;
    Endless(desk);
    desk.Deliver(1);
    throw std::runtime_error("too late to matter");
  });
  while (!running) std::this_thread::sleep_for(1ms);
  runner.Start("new", [](IntRunner::Desk& desk) { desk.Deliver(2); });
  ASSERT_TRUE(runner.state());
  EXPECT_EQ(runner.state()->what, "new");
  const auto news = PollUntilIdle(&runner);
  ASSERT_EQ(news.size(), 1u);
  EXPECT_EQ(news[0].result, 2);
}

TEST(Runner, CancelAlsoDropsTheJobThatWaits) {
  IntRunner runner;
  std::atomic<bool> ran = false;
  runner.Start("old", Endless);
  runner.Start("new", [&](IntRunner::Desk&) { ran = true; });
  runner.Cancel();
  PollUntilIdle(&runner);
  EXPECT_FALSE(ran);
}

TEST(Runner, StartingAndPollingDoNotWaitForTheJob) {
  IntRunner runner;
  const auto start = std::chrono::steady_clock::now();
  runner.Start("sleepy", [](IntRunner::Desk&) { std::this_thread::sleep_for(400ms); });
  runner.Start("next", [](IntRunner::Desk&) {});
  runner.Poll();
  runner.Cancel();
  EXPECT_LT(std::chrono::steady_clock::now() - start, 200ms) << "half of what the job takes is ample for four calls";
}

TEST(Runner, ItsEndStopsWhatRuns) {
  std::atomic<bool> stopped = false;
  {
    IntRunner runner;
    runner.Start("endless", [&](IntRunner::Desk& desk) {
      Endless(desk);
      stopped = true;
    });
  }
  EXPECT_TRUE(stopped);
}

}  // namespace
}  // namespace dryrig
