#include "viewer/render/sheet.h"

#include <fmt/format.h>

#include <algorithm>
#include <sstream>

#include "viewer/render/ink.h"

namespace dryrig {

namespace {

constexpr int kMargin = 18, kGap = 12, kTitle = 58, kCaution = 44, kRowName = 26, kLine = 17, kLabel = 3 * kLine + 6, kText = 12;

constexpr Colour kPaper{0.98, 0.98, 0.97}, kInk{0.10, 0.11, 0.12}, kFaint{0.36, 0.37, 0.39}, kWhite{1, 1, 1};

int RowsOf(const Sheet& sheet) {
  return (static_cast<int>(sheet.cells.size()) + sheet.columns - 1) / sheet.columns;
}

/// What stands beside the time: a word, so that no colour is needed to read it.
const char* WordFor(ShotMatch match) {
  switch (match) {
    case ShotMatch::kNothingAsked:
      return "nothing asked";
    case ShotMatch::kSame:
      return "as asked";
    case ShotMatch::kOtherFraming:
      return "other framing";
    case ShotMatch::kOtherSubject:
      break;
  }
  return "OTHER SUBJECT";
}

/// Half as wide and high, each pixel the mean of four: small pictures need smoother edges.
Picture Halved(const Picture& picture) {
  Picture out{picture.width / 2, picture.height / 2, {}};
  const auto row = static_cast<size_t>(3 * picture.width);
  for (size_t y = 0; y < static_cast<size_t>(out.height); ++y) {
    const uint8_t* from = &picture.rgb[2 * y * row];
    for (size_t x = 0; x < static_cast<size_t>(out.width); ++x, from += 6) {
      for (size_t c = 0; c < 3; ++c)
        out.rgb.push_back(static_cast<uint8_t>((from[c] + from[c + 3] + from[c + row] + from[c + row + 3] + 2) / 4));
    }
  }
  return out;
}

void DrawCell(const SheetCell& cell, const SheetLayout::Box& picture, const SheetLayout::Box& label, Paper* paper) {
  paper->Paste(cell.picture, picture.x, picture.y);
  const bool wrong = cell.match == ShotMatch::kOtherSubject;
  if (wrong) {
    // A hatched band and a heavy frame.
    paper->Fill(label.x, label.y, label.width, 5, kInk);
    paper->Hatch(label.x, label.y, label.width, 5, kPaper);
    paper->Frame(picture.x, picture.y, picture.width, picture.height, 3, kInk);
  }
  double y = label.y + kLine + 1;
  const std::string time = fmt::format("{:.1f} s", cell.t_s);
  paper->Write(label.x, y, 60, kText, time, kInk, true);
  const double word_x = label.x + 62;
  const double word_width = label.width - 62;
  if (wrong) {
    paper->Fill(word_x - 4, y - kText, 112, kText + 4, kInk);
    paper->Write(word_x, y, word_width, kText, WordFor(cell.match), kWhite, true);
  } else {
    paper->Write(word_x, y, word_width, kText, WordFor(cell.match), kFaint);
  }
  const auto line = [&](const char* name, const std::string& text) {
    y += kLine;
    paper->Write(label.x, y, 52, kText, name, kFaint);
    paper->Write(label.x + 52, y, label.width - 52, kText, text, kInk);
  };
  line("asked", cell.asked.empty() ? "–" : cell.asked);
  line("chosen", cell.chosen);
}

}  // namespace

SheetLayout LayOut(const Sheet& sheet) {
  const int width = sheet.cells.front().picture.width, height = sheet.cells.front().picture.height;
  const int names = sheet.row_names.empty() ? 0 : kRowName;
  const int row_height = names + height + kLabel + kGap, rows = RowsOf(sheet);
  SheetLayout out;
  out.width = std::max(1000, 2 * kMargin + sheet.columns * (width + kGap) - kGap);
  out.height = kTitle + rows * row_height + kCaution;
  out.title = {kMargin, 0, out.width - 2 * kMargin, kTitle};
  out.caution = {kMargin, out.height - kCaution, out.width - 2 * kMargin, kCaution};
  for (size_t i = 0; i < sheet.cells.size(); ++i) {
    const int column = static_cast<int>(i) % sheet.columns, row = static_cast<int>(i) / sheet.columns;
    const int x = kMargin + column * (width + kGap), y = kTitle + row * row_height + names;
    out.pictures.push_back({x, y, width, height});
    out.labels.push_back({x, y + height, width, kLabel});
  }
  for (int row = 0; row < static_cast<int>(sheet.row_names.size()); ++row)
    out.rows.push_back({kMargin, kTitle + row * row_height, out.width - 2 * kMargin, kRowName});
  return out;
}

Picture DrawSheet(const Sheet& sheet) {
  const SheetLayout layout = LayOut(sheet);
  Paper paper(layout.width, layout.height, kPaper);
  paper.Write(layout.title.x, 28, layout.title.width, 19, sheet.title, kInk, true);
  paper.Write(layout.title.x, 48, layout.title.width, 13, sheet.subtitle, kFaint);
  for (size_t i = 0; i < sheet.cells.size(); ++i) DrawCell(sheet.cells[i], layout.pictures[i], layout.labels[i], &paper);
  for (size_t row = 0; row < layout.rows.size(); ++row)
    paper.Write(layout.rows[row].x, layout.rows[row].y + 18, layout.rows[row].width, 15, sheet.row_names[row], kInk, true);
  std::istringstream lines(sheet.caution);
  double y = layout.caution.y + 16;
  for (std::string line; std::getline(lines, line); y += kLine)
    paper.Write(layout.caution.x, y, layout.caution.width, kText, line, kFaint);
  return paper.Done();
}

std::vector<double> EvenMoments_s(double duration_s, int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back((i + 0.5) * duration_s / count);
  return out;
}

std::vector<SheetCell> FilmCells(const Take& take, const std::vector<double>& moments_s, int width, Studio* studio) {
  DrawnScene scene(take);
  std::vector<SheetCell> out;
  for (const double moment_s : moments_s) {
    const size_t index = FilmFrame(take, moment_s);
    const TakeFrame& frame = take.frames[index];
    scene.SetFrame(frame);
    SheetCell cell;
    cell.t_s = static_cast<double>(index) / take.id.frame_hz;
    const int height = std::max(1, static_cast<int>(width / take.camera.aspect() + 0.5));
    cell.picture = Halved(studio->Draw(scene, take, frame, FilmView::kLens, {2 * width, 2 * height}));
    const TimedIntent* asked = RunningIntent(take, cell.t_s);
    if (asked != nullptr) cell.asked = ShortShotName(asked->shot);
    cell.chosen = ShortShotName(frame.chosen);
    cell.match = MatchShots(asked, frame.chosen);
    out.push_back(std::move(cell));
  }
  return out;
}

std::string ShortShotName(const Shot& shot) {
  std::string subjects;
  for (const Subject& subject : shot.subjects) {
    subjects += subjects.empty() ? "" : " + ";
    subjects += subject.kind == SubjectKind::kProp ? subject.prop : ToString(subject);
  }
  return fmt::format("{}, {}, {}", subjects, ToString(shot.size), ToString(shot.angle));
}

const TimedIntent* RunningIntent(const Take& take, double t_s) {
  for (auto it = take.intents.rbegin(); it != take.intents.rend(); ++it) {
    if (t_s >= it->start_s - 1e-9 && t_s < it->end_s - 1e-9) return &*it;
  }
  return nullptr;
}

ShotMatch MatchShots(const TimedIntent* asked, const Shot& chosen) {
  if (asked == nullptr) return ShotMatch::kNothingAsked;
  const auto& subjects = asked->shot.subjects;
  if (!std::is_permutation(subjects.begin(), subjects.end(), chosen.subjects.begin(), chosen.subjects.end()))
    return ShotMatch::kOtherSubject;
  return asked->shot.size == chosen.size && asked->shot.angle == chosen.angle ? ShotMatch::kSame : ShotMatch::kOtherFraming;
}

}  // namespace dryrig
