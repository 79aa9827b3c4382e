// Time code against values worked from the rule: at 29.97 drop-frame an hour has 107,892 frames and a day 2,589,408.
#include "bench/time_code.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "scenes/error.h"
#include "tests/outside/listed.h"

namespace dryrig {
namespace {

TEST(TimeCodeOutside, DropFrameCountsAnHourAndADay) {
  const FrameRate& drop = FindFrameRate("29.97-drop");
  EXPECT_EQ(FromTimeCode("01:00:00;00", drop), 107'892);
  EXPECT_EQ(ToTimeCode(107'892, drop), "01:00:00;00");
  EXPECT_EQ(ToTimeCode(2'589'408 - 1, drop), "23:59:59;29");
  EXPECT_EQ(ToTimeCode(2'589'408, drop), "00:00:00;00");
  // The count stays within 0.1 s of the clock: a day's frames last 86,400 s less 86.4 ms.
  EXPECT_NEAR(2'589'408 / drop.Hz(), 86'400, 0.0865);
}

TEST(TimeCodeOutside, NumbersZeroAndOneAreLeftOutAtEachMinuteButTheTenth) {
  const FrameRate& drop = FindFrameRate("29.97-drop");
  EXPECT_EQ(ToTimeCode(1799, drop), "00:00:59;29");
  EXPECT_EQ(ToTimeCode(1800, drop), "00:01:00;02");
  EXPECT_EQ(ToTimeCode(17'981, drop), "00:09:59;29");
  EXPECT_EQ(ToTimeCode(17'982, drop), "00:10:00;00");
  EXPECT_EQ(ToTimeCode(3599, FindFrameRate("59.94-drop")), "00:00:59;59");
  EXPECT_EQ(ToTimeCode(3600, FindFrameRate("59.94-drop")), "00:01:00;04");
  EXPECT_THROW(FromTimeCode("00:01:00;01", drop), InputError);
}

TEST(TimeCodeOutside, EveryFrameOfADayReadsBack) {
  for (const FrameRate& rate : FrameRates()) {
    const int64_t day =
        rate.drop ? int64_t{144} * (600 * rate.nominal - 9 * (rate.nominal / 15)) : int64_t{86'400} * rate.nominal;
    for (int64_t frame = 0; frame < day; frame += frame < 40'000 ? 1 : 977) {
      ASSERT_EQ(FromTimeCode(ToTimeCode(frame, rate), rate), frame) << rate.name;
    }
    EXPECT_EQ(ToTimeCode(day - 1, rate).substr(0, 8), "23:59:59") << rate.name;
  }
}

TEST(TimeCodeOutside, NonDropRunsLateAgainstTheClock) {
  // 3.6 s an hour at 29.97: the known drift that drop-frame is for.
  const FrameRate& rate = FindFrameRate("29.97");
  EXPECT_NEAR(FromTimeCode("01:00:00:00", rate) / rate.Hz(), 3603.6, 1e-9);
}

TEST(TimeCodeOutside, AFramesOwnStartBelongsToIt) {
  for (const FrameRate& rate : FrameRates()) {
    for (int64_t frame = 0; frame < 5000; ++frame) {
      const double start_s = static_cast<double>(frame) * rate.den / rate.num;
      ASSERT_EQ(FrameAt(start_s, rate), frame) << rate.name;
      ASSERT_EQ(FrameAt(start_s + 0.9 / rate.Hz(), rate), frame) << rate.name;
    }
  }
}

TEST(TimeCodeOutside, BadOnesAreRefused) {
  const FrameRate& rate = FindFrameRate("25");
  for (const char* bad : {"", "1:00:00:00", "24:00:00:00", "00:60:00:00", "00:00:60:00", "00:00:00:25", "00:00:00;00",
                          "00:00:00:0", "00:00:00:000", "aa:00:00:00", "-1:00:00:00", " 1:00:00:00"}) {
    EXPECT_THROW(FromTimeCode(bad, rate), InputError) << bad;
  }
  EXPECT_THROW(FindFrameRate("26"), InputError);
}

}  // namespace
}  // namespace dryrig
