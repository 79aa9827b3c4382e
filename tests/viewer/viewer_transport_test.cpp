// The transport: a pure function of key events and time.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <vector>

#include "viewer/transport.h"

namespace dryrig {
namespace {

using enum TransportKey;

const Reel kReel{10, 30, {0, 2.5, 6}};
constexpr double kExact = 1e-12;  // a few additions of doubles near 10

Transport Press(Transport now, std::vector<TransportKey> keys) {
  for (const TransportKey key : keys) {
    now = Advance(now, std::vector{TransportEvent{key, true}, TransportEvent{key, false}}, 0, kReel);
  }
  return now;
}
Transport Hold(Transport now, TransportKey key) {
  return Advance(now, std::vector{TransportEvent{key, true}}, 0, kReel);
}
Transport Release(Transport now, TransportKey key) {
  return Advance(now, std::vector{TransportEvent{key, false}}, 0, kReel);
}
Transport Wait(Transport now, double dt_s) {
  return Advance(now, {}, dt_s, kReel);
}

TEST(Transport, ForwardAgainIsTwoFourEightTimesAsFastAndNoFaster) {
  Transport now;
  for (const double speed : {1, 2, 4, 8, 8}) {
    now = Press(now, {kForward});
    EXPECT_EQ(now.speed, speed);
  }
  EXPECT_NEAR(Wait(now, 0.1).t_s, 0.8, kExact);
}

TEST(Transport, TheOtherWayBeginsAtOnce) {
  EXPECT_EQ(Press({.t_s = 5}, {kForward, kForward, kBack}).speed, -1);
  EXPECT_EQ(Press({.t_s = 5}, {kBack, kBack, kBack}).speed, -4);
  EXPECT_NEAR(Wait(Press({.t_s = 5}, {kBack}), 0.2).t_s, 4.8, kExact);
}

TEST(Transport, StopStops) {
  EXPECT_EQ(Press({.t_s = 5}, {kForward, kForward, kStop}).speed, 0);
  EXPECT_EQ(Press({.t_s = 5}, {kPlayOrStop}).speed, 1);
  EXPECT_EQ(Press({.t_s = 5, .speed = 4}, {kPlayOrStop}).speed, 0);
}

TEST(Transport, StopHeldWithForwardIsSlowMotionUntilEitherIsLetGo) {
  Transport now = Hold({.t_s = 5}, kStop);
  now = Hold(now, kForward);
  EXPECT_EQ(now.speed, 0.25);
  EXPECT_EQ(Release(now, kForward).speed, 0);
  EXPECT_EQ(Release(now, kStop).speed, 0);
  now = Hold(Hold({.t_s = 5}, kBack), kStop);
  EXPECT_EQ(now.speed, -0.25);
  EXPECT_NEAR(Wait(now, 0.2).t_s, 4.95, kExact);
}

TEST(Transport, AHeldKeysRepeatsDoNotSpeedUp) {
  Transport now = Hold({.t_s = 5}, kForward);
  now = Advance(now, std::vector{TransportEvent{kForward, true, true}, TransportEvent{kForward, true, true}}, 0, kReel);
  EXPECT_EQ(now.speed, 1);
  EXPECT_EQ(Release(now, kForward).speed, 1) << "letting go of L alone plays on";
}

TEST(Transport, StepsAreWholeFramesFromAnywhereBetweenTwo) {
  EXPECT_NEAR(Press({.t_s = 1.0 + 0.4 / 30}, {kFrameForward}).t_s, 31.0 / 30, kExact);
  EXPECT_NEAR(Press({.t_s = 1.0 + 0.4 / 30}, {kFrameBack}).t_s, 29.0 / 30, kExact);
  Transport now;
  for (int i = 0; i < 290; ++i) now = Press(now, {kFrameForward});
  EXPECT_EQ(FrameNumber(now.t_s, 30), 290) << "no frame is lost to rounding";
  EXPECT_NEAR(Press({.t_s = 5.5, .speed = 8}, {kSecondBack}).t_s, 4.5, kExact);
  EXPECT_EQ(Press({.t_s = 5.5, .speed = 8}, {kSecondForward}).speed, 0) << "a step stops what plays";
}

TEST(Transport, GoesToStartEndAndBeats) {
  EXPECT_EQ(Press({.t_s = 5}, {kStart}).t_s, 0);
  EXPECT_EQ(Press({.t_s = 5}, {kEnd}).t_s, 10);
  EXPECT_EQ(Press({.t_s = 5}, {kBeatForward}).t_s, 6);
  EXPECT_EQ(Press({.t_s = 6}, {kBeatForward}).t_s, 10);
  EXPECT_EQ(Press({.t_s = 6}, {kBeatBack}).t_s, 2.5);
  EXPECT_EQ(Press({.t_s = 6.1}, {kBeatBack}).t_s, 6);
  EXPECT_EQ(Press({.t_s = 0}, {kBeatBack}).t_s, 0);
}

TEST(Transport, StopsAtEitherEndAndStartsOverFromTheEnd) {
  Transport now = Wait({.t_s = 9.9, .speed = 8}, 0.1);
  EXPECT_EQ(now.t_s, 10);
  EXPECT_EQ(now.speed, 0);
  now = Press(now, {kPlayOrStop});
  EXPECT_EQ(now.t_s, 0);
  EXPECT_EQ(now.speed, 1);
  EXPECT_EQ(Press({.t_s = 10}, {kForward}).t_s, 0);
  EXPECT_EQ(Wait({.t_s = 0.05, .speed = -1}, 0.2), (Transport{.t_s = 0}));
}

TEST(Transport, AWindowThatStoodStillDoesNotLeap) {
  EXPECT_NEAR(Wait({.t_s = 1, .speed = 1}, 60).t_s, 1.25, kExact);
}

TEST(Transport, ScrubbingStaysInsideTheTake) {
  EXPECT_EQ(Scrub({}, 99, kReel).t_s, 10);
  EXPECT_EQ(Scrub({}, -1, kReel).t_s, 0);
  EXPECT_EQ(Scrub({.speed = 2}, 3, kReel).speed, 2);
}

}  // namespace
}  // namespace dryrig
