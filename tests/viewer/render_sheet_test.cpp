// Contact sheets: what lies where, and what is written.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "scenes/error.h"
#include "tests/sim/sketch_take.h"
#include "viewer/render/sheet.h"

namespace dryrig {
namespace {

using Box = SheetLayout::Box;

Picture Plain(int width, int height, uint8_t red, uint8_t green, uint8_t blue) {
  Picture picture{width, height, {}};
  for (int i = 0; i < width * height; ++i) picture.rgb.insert(picture.rgb.end(), {red, green, blue});
  return picture;
}

Sheet SampleSheet(size_t cells, int columns, size_t rows_named) {
  Sheet sheet;
  sheet.title = "A lesson, policy none";
  sheet.subtitle = "nowhere";
  sheet.caution = "Two\nlines";
  sheet.columns = columns;
  for (size_t i = 0; i < cells; ++i)
    sheet.cells.push_back({Plain(240, 135, static_cast<uint8_t>(10 * i), 90, 200), 1.0 + static_cast<double>(i),
                           "hands, wide, overhead", "face, wide, overhead", ShotMatch::kSame});
  for (size_t i = 0; i < rows_named; ++i) sheet.row_names.push_back("row");
  return sheet;
}

bool Apart(const Box& a, const Box& b) {
  return a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y;
}

TEST(RenderSheet, NothingOverlapsAndAllIsOnTheSheet) {
  for (const Sheet& sheet : {SampleSheet(24, 6, 0), SampleSheet(15, 5, 3), SampleSheet(1, 1, 0), SampleSheet(7, 3, 0)}) {
    const SheetLayout layout = LayOut(sheet);
    std::vector<Box> all{layout.title, layout.caution};
    for (const auto* boxes : {&layout.pictures, &layout.labels, &layout.rows})
      all.insert(all.end(), boxes->begin(), boxes->end());
    ASSERT_EQ(all.size(), 2 + 2 * sheet.cells.size() + sheet.row_names.size());
    for (size_t i = 0; i < all.size(); ++i) {
      EXPECT_GE(std::min(all[i].x, all[i].y), 0);
      EXPECT_LE(all[i].x + all[i].width, layout.width);
      EXPECT_LE(all[i].y + all[i].height, layout.height);
      for (size_t j = 0; j < i; ++j) EXPECT_TRUE(Apart(all[i], all[j])) << i << " over " << j;
    }
    // Left to right, then down.
    for (size_t i = 1; i < sheet.cells.size(); ++i) {
      const Box &a = layout.pictures[i - 1], &b = layout.pictures[i];
      EXPECT_TRUE(i % static_cast<size_t>(sheet.columns) == 0 ? b.y > a.y && b.x < a.x + 1 : b.y == a.y && b.x > a.x);
    }
  }
}

TEST(RenderSheet, EveryPictureIsAtItsPlace) {
  const Sheet sheet = SampleSheet(8, 3, 0);
  const SheetLayout layout = LayOut(sheet);
  const Picture drawn = DrawSheet(sheet);
  ASSERT_EQ(drawn.width, layout.width);
  ASSERT_EQ(drawn.height, layout.height);
  for (size_t i = 0; i < sheet.cells.size(); ++i) {
    const Box& box = layout.pictures[i];
    for (const auto& [x, y] : {std::pair(0, 0), std::pair(239, 134), std::pair(120, 70)}) {
      const size_t at = 3 * (static_cast<size_t>(box.y + y) * static_cast<size_t>(drawn.width) + static_cast<size_t>(box.x + x));
      EXPECT_EQ(drawn.rgb[at], 10 * i);
      EXPECT_EQ(drawn.rgb[at + 2], 200);
    }
  }
}

/// Share of dark pixels in a box of the picture as a colour-blind reader has it: grey.
double DarkShare(const Picture& picture, const Box& box) {
  int dark = 0;
  for (int y = box.y; y < box.y + box.height; ++y) {
    for (int x = box.x; x < box.x + box.width; ++x) {
      const uint8_t* p = &picture.rgb[3 * (static_cast<size_t>(y) * static_cast<size_t>(picture.width) + static_cast<size_t>(x))];
      dark += p[0] + p[1] + p[2] < 3 * 100;
    }
  }
  return static_cast<double>(dark) / (box.width * box.height);
}

TEST(RenderSheet, AMismatchIsReadableWithoutColour) {
  Sheet sheet = SampleSheet(3, 3, 0);
  sheet.cells[1].match = ShotMatch::kOtherSubject;
  sheet.cells[2].match = ShotMatch::kOtherFraming;
  const SheetLayout layout = LayOut(sheet);
  const Picture drawn = DrawSheet(sheet);
  const double same = DarkShare(drawn, layout.labels[0]), other = DarkShare(drawn, layout.labels[1]);
  EXPECT_GT(same, 0.005) << "words";
  EXPECT_GT(other, same + 0.08) << "a dark plate and a hatched band";
  const Box& label = layout.labels[2];
  bool differs = false;  // "other framing" is another word than "as asked"
  for (int y = 0; y < label.height; ++y) {
    for (int x = 0; x < 3 * label.width; ++x) {
      const auto at = [&](const Box& box) {
        return drawn.rgb[3 * (static_cast<size_t>(box.y + y) * static_cast<size_t>(drawn.width) + static_cast<size_t>(box.x)) +
                         static_cast<size_t>(x)];
      };
      differs |= at(label) != at(layout.labels[0]) && y < 20;
    }
  }
  EXPECT_TRUE(differs);
}

// A long name is set narrower before it is cut: the last letter counts up to the width that a quarter less takes.
TEST(RenderSheet, LongNamesAreSetNarrowerBeforeTheyAreCut) {
  const auto drawn = [](const std::string& asked) {
    Sheet sheet = SampleSheet(1, 1, 0);
    sheet.cells[0].asked = asked;
    return DrawSheet(sheet).rgb;
  };
  const std::string fits = "hands + dough, wide, over", narrower = "hands + dough, close-up, overh", cut(80, 'm');
  EXPECT_NE(drawn(fits + "a"), drawn(fits + "b"));
  EXPECT_NE(drawn(narrower + "a"), drawn(narrower + "b"));
  EXPECT_EQ(drawn(cut + "a"), drawn(cut + "b"));
}

TEST(RenderSheet, MomentsAreTheMiddlesOfEqualShares) {
  EXPECT_THAT(EvenMoments_s(12, 4), ::testing::ElementsAre(1.5, 4.5, 7.5, 10.5));
}

TEST(RenderSheet, ShotsMatchBySubjectsInAnyOrderThenByFraming) {
  const Subject face{SubjectKind::kFace, ""}, pot{SubjectKind::kProp, "pot"}, can{SubjectKind::kProp, "can"};
  TimedIntent asked;
  asked.shot = {{face, pot}, ShotSize::kMedium, ShotAngle::kOverhead, Composition::kCentre};
  Shot chosen{{pot, face}, ShotSize::kMedium, ShotAngle::kOverhead, Composition::kUpperLeft};
  EXPECT_EQ(MatchShots(nullptr, chosen), ShotMatch::kNothingAsked);
  EXPECT_EQ(MatchShots(&asked, chosen), ShotMatch::kSame);
  chosen.size = ShotSize::kWide;
  EXPECT_EQ(MatchShots(&asked, chosen), ShotMatch::kOtherFraming);
  chosen.subjects = {can, face};
  EXPECT_EQ(MatchShots(&asked, chosen), ShotMatch::kOtherSubject);
  EXPECT_EQ(ShortShotName(asked.shot), "face + pot, medium, overhead");
}

TEST(RenderSheet, CellsTellTimeIntentAndShot) {
  Take take = testing::SketchTake();
  take.id.frame_hz = 10;
  take.frames.resize(30, take.frames[0]);
  take.duration_s = 2.9;
  take.intents = {{1, 2, {{{SubjectKind::kHands, ""}}, ShotSize::kCloseUp, ShotAngle::kOverhead, Composition::kCentre}, 0}};
  Studio studio;
  const std::vector<SheetCell> cells = FilmCells(take, {0.5, 1.5}, 160, &studio);
  ASSERT_EQ(cells.size(), 2u);
  EXPECT_EQ(cells[0].asked, "");
  EXPECT_EQ(cells[0].match, ShotMatch::kNothingAsked);
  EXPECT_EQ(cells[1].asked, "hands, close-up, overhead");
  EXPECT_EQ(cells[1].t_s, 1.5);
  EXPECT_EQ(cells[1].picture.width, 160);
  EXPECT_EQ(cells[1].picture.height, 90);
  EXPECT_EQ(cells[0].picture.rgb, cells[1].picture.rgb) << "nothing moves in this take";
}

TEST(RenderSheet, PngsAreWholeOrNotThere) {
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("dryrig-sheet-{}", getpid());
  std::filesystem::create_directory(folder);
  WritePng(Plain(3, 2, 1, 2, 3), folder / "a.png");
  EXPECT_GT(std::filesystem::file_size(folder / "a.png"), 60u);
  EXPECT_THROW(WritePng(Plain(3, 2, 1, 2, 3), folder / "none" / "a.png"), RunError);
  EXPECT_EQ(std::distance(std::filesystem::directory_iterator(folder), {}), 1);
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace dryrig
