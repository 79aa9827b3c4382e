// What the window promises about time, measured on whatever machine this runs on; the best of three, since others work there too.
#include <algorithm>
#include <chrono>
#include <cstdio>

#include "tests/viewer/window_hand.h"

namespace dryrig {
namespace {

using Clock = std::chrono::steady_clock;

double Milliseconds(Clock::time_point since) {
  return std::chrono::duration<double, std::milli>(Clock::now() - since).count();
}

class WindowSpeedLong : public WindowTest {
 protected:
  ViewOptions Booklet() {
    ViewOptions options = ShortLesson();
    options.what = "booklet";
    options.policy.reset();
    return options;
  }
};

TEST_F(WindowSpeedLong, TheFirstPictureOfAShippedLessonComesWithinASecond) {
  double best_ms = 1e9;
  for (int i = 0; i < 3; ++i) {
    app_.reset();
    const auto start = Clock::now();
    app_ = std::make_unique<App>(Booklet());
    while (session().filmed(kFirst) == nullptr) app_->Frame();
    app_->Frame();  // the one that shows it
    best_ms = std::min(best_ms, Milliseconds(start));
    EXPECT_LT(ShareOf(Shot(), Place("room"), IM_COL32(118, 118, 118, 255)), 0.05);
  }
  std::printf("first picture after %.0f ms\n", best_ms);
  EXPECT_LT(best_ms, 1000);
}

TEST_F(WindowSpeedLong, ScrubbingHolds30FramesASecond) {
  Start(Booklet());
  const double length_s = session().reel().length_s;
  double best_ms = 1e9, best_worst_ms = 1e9;
  for (int run = 0; run < 3; ++run) {
    std::vector<double> frames_ms;
    for (int i = 0; i < 60; ++i) {
      desk().JumpTo(length_s * ((i * 37) % 60) / 60);  // to and fro: every frame shows another moment
      const auto start = Clock::now();
      app_->Frame();
      frames_ms.push_back(Milliseconds(start));
    }
    std::sort(frames_ms.begin(), frames_ms.end());
    best_ms = std::min(best_ms, frames_ms[30]);
    best_worst_ms = std::min(best_worst_ms, frames_ms[57]);
  }
  const auto still = Clock::now();
  Frames(20);
  const double still_ms = Milliseconds(still) / 20;
  std::printf("a scrubbed frame takes %.1f ms (19 of 20 below %.1f ms), one in which nothing moves %.1f ms\n", best_ms,
              best_worst_ms, still_ms);
  EXPECT_LT(best_ms, 1000.0 / 30);
}

}  // namespace
}  // namespace dryrig
