#pragma once

#include <string>
#include <vector>

#include "viewer/render/picture.h"
#include "viewer/render/studio.h"

namespace dryrig {

/// How a chosen shot stands to what is asked: the same, the same subjects otherwise framed, or other subjects.
enum class ShotMatch { kNothingAsked, kSame, kOtherFraming, kOtherSubject };

/// One lens frame and what is written under it.
struct SheetCell {
  Picture picture;
  double t_s = 0;
  std::string asked, chosen;  // short names of shots; asked is empty where no intent runs
  ShotMatch match = ShotMatch::kNothingAsked;
};

/// Cells in a grid, left to right and down.
struct Sheet {
  std::string title, subtitle;
  std::string caution;  // closes the sheet
  int columns = 6;
  std::vector<std::string> row_names;  // one a row, each written over its row; or none
  std::vector<SheetCell> cells;        // pictures of one size
};

/// Where things lie on the drawn sheet, in pixels from the top left corner.
struct SheetLayout {
  struct Box {
    int x, y, width, height;
  };
  int width, height;
  std::vector<Box> pictures, labels;  // one a cell
  std::vector<Box> rows;              // one a row name
  Box title, caution;
};
/// @pre at least one cell and column
SheetLayout LayOut(const Sheet& sheet);
Picture DrawSheet(const Sheet& sheet);

/// `count` moments spread evenly over a lesson, each in the middle of its share.
std::vector<double> EvenMoments_s(double duration_s, int count);
/// A take's lens frames at these moments, `width` pixels wide.
std::vector<SheetCell> FilmCells(const Take& take, const std::vector<double>& moments_s, int width, Studio* studio);

/// `hands + pot, close-up, high-angle`.
std::string ShortShotName(const Shot& shot);
/// The intent that runs at t_s, the one that began last; null: none.
const TimedIntent* RunningIntent(const Take& take, double t_s);
ShotMatch MatchShots(const TimedIntent* asked, const Shot& chosen);

}  // namespace dryrig
