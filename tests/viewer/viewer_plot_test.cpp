// Plots and the window's layout as numbers.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "viewer/layout.h"
#include "viewer/plot.h"

namespace dryrig {
namespace {

constexpr double kGap = std::numeric_limits<double>::quiet_NaN();

TEST(Plot, EverySampleFallsIntoOneColumnSoNoPeakIsLost) {
  Series series{100, std::vector<double>(1000, 1.0)};
  series.values[377] = 50;  // one sample of ten that share a column
  const auto columns = PlotColumns(series, 0, 10, 100);
  ASSERT_EQ(columns.size(), 100u);
  for (size_t c = 0; c < columns.size(); ++c) {
    EXPECT_EQ(columns[c].lo, 1) << c;
    EXPECT_EQ(columns[c].hi, c == 37 ? 50 : 1) << c;
  }
}

TEST(Plot, AColumnBetweenSamplesShowsTheOneBefore) {
  const Series series{1, {5, 7}};
  const auto columns = PlotColumns(series, 0, 2, 20);
  EXPECT_EQ(columns[0].lo, 5);
  EXPECT_EQ(columns[9].hi, 5);
  EXPECT_EQ(columns[10].lo, 7);
  EXPECT_EQ(columns[19].hi, 7);
}

TEST(Plot, GapsAndWhatLiesOutsideStayEmpty) {
  const Series series{1, {kGap, 3, kGap, kGap}};
  const auto columns = PlotColumns(series, -2, 8, 10);
  for (int c = 0; c < 10; ++c) EXPECT_EQ(columns[static_cast<size_t>(c)].empty, c != 3) << c;
  EXPECT_TRUE(PlotColumns({}, 0, 1, 3)[1].empty);
  EXPECT_FALSE(RangeOf({1, {kGap}}));
  EXPECT_EQ(RangeOf({1, {kGap, 2, -1}}), (PlotRange{-1, 2}));
}

TEST(Plot, AnAxisHoldsItsRangeAndIsNeverFlat) {
  for (const PlotRange range : {PlotRange{0, 1}, {3, 3}, {0, 0}, {-5, -5}, {0.2, 4}, {-0.7, 0.4}, {8, 9}}) {
    const PlotRange axis = AxisFor(range);
    EXPECT_LE(axis.lo, range.lo);
    EXPECT_GE(axis.hi, range.hi);
    EXPECT_GT(axis.hi, axis.lo);
  }
  EXPECT_EQ(AxisFor({0.2, 4}).lo, 0) << "zero is shown where it is near";
  EXPECT_GT(AxisFor({8, 9}).lo, 0) << "and not where it would flatten the plot";
}

TEST(Plot, NumbersAreShort) {
  EXPECT_EQ(Shown(0), "0");
  EXPECT_EQ(Shown(0.23812), "0.238");
  EXPECT_EQ(Shown(-17.312), "-17.3");
  EXPECT_EQ(Shown(1200), "1200");
  EXPECT_EQ(Shown(1), "1");
  EXPECT_EQ(Shown(1.5e-5), "1.5e-5");
  EXPECT_EQ(Shown(-2.34e7), "-2.3e7");
  EXPECT_EQ(ShownTime(4.2), "4.20");
  EXPECT_EQ(ShownTime(59.999), "1:00.00") << "no 60.00 seconds";
  EXPECT_EQ(ShownTime(83.456), "1:23.46");
}

TEST(Plot, TicksAreRoundAndFewEnough) {
  EXPECT_EQ(TickStep_s(83, 20), 5);
  EXPECT_EQ(TickStep_s(4, 10), 0.5);
  for (const double length_s : {0.5, 7.0, 60.0, 119.0, 3600.0}) EXPECT_LE(length_s / TickStep_s(length_s, 12), 12);
}

void ExpectWhole(const Layout& layout, float width, float height, bool second) {
  std::vector<Rect> all{layout.head, layout.weak,      layout.lens,      layout.room,
                        layout.next, layout.transport, layout.time_line, layout.caution};
  if (!second) all.push_back(layout.moment);
  float area = 0;
  for (size_t i = 0; i < all.size(); ++i) {
    area += all[i].w * all[i].h;
    EXPECT_GE(all[i].x, 0);
    EXPECT_LE(all[i].right(), width);
    EXPECT_LE(all[i].bottom(), height);
    for (size_t j = i + 1; j < all.size(); ++j) EXPECT_FALSE(all[i].Overlaps(all[j])) << i << " and " << j;
  }
  EXPECT_NEAR(area, width * height, 1) << "the panels fill the window";
}

TEST(Layout, PanelsFillTheWindowWithoutOverlapAtAnySizeAndScale) {
  for (const auto& [width, height] :
       {std::pair{1280.f, 720.f}, {1000.f, 640.f}, {1920.f, 1080.f}, {2560.f, 1440.f}, {3840.f, 1200.f}}) {
    for (const float scale : {1.f, 1.25f, 2.f}) {
      for (const int lenses : {1, 2}) {
        SCOPED_TRACE(testing::Message() << width << "x" << height << " scale " << scale << " lenses " << lenses);
        ExpectWhole(Arrange(width, height, scale, {lenses > 1 ? 5 : 4, 2}, lenses, 16.0 / 9), width, height, lenses > 1);
      }
    }
  }
}

TEST(Layout, LeavesLegibleRoomAtTheLeastPromisedSize) {
  const Layout layout = Arrange(1280, 720, 1, {4, 2}, 1, 16.0 / 9);
  EXPECT_FALSE(layout.too_small);
  EXPECT_GE(layout.lens.w, 360);
  EXPECT_GE(layout.room.w, 260);
  EXPECT_GE(layout.weak.w, 280) << "name, value and unit of a metric";
  EXPECT_GE(layout.next.w, 240) << "a slider and its number";
  EXPECT_GE(layout.moment.h, 140);
  EXPECT_GE(layout.time_line.h, kRulerHeight + 4 * kLaneHeight + 2 * kPlotHeight) << "nothing of the time line is cut off";
  EXPECT_TRUE(Arrange(1280, 720, 2, {4, 2}, 1, 16.0 / 9).too_small);
}

TEST(Layout, APictureKeepsItsShapeInTheMiddle) {
  const Rect wide = FitInto({10, 20, 400, 100}, 2);
  EXPECT_EQ(wide, (Rect{110, 20, 200, 100}));
  const Rect tall = FitInto({0, 0, 100, 400}, 2);
  EXPECT_EQ(tall, (Rect{0, 175, 100, 50}));
}

}  // namespace
}  // namespace dryrig
