#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bench/grid.h"
#include "sim/store.h"
#include "viewer/render/sheet.h"

namespace dryrig {

/// How a frame or a film of a take is drawn.
struct FilmChoice {
  FilmView view = FilmView::kLens;
  std::optional<FrameSize> size;  // none: what is usual for the view
};
/// `WIDTHxHEIGHT`, both in [16, 8192]. @throws InputError.
FrameSize ParseFrameSize(const std::string& text);

/// Lens frames through a take, each with its time, what was asked and what the policy chose. @throws RunError.
void WriteContactSheet(const Take& take, const std::filesystem::path& png);
/// The frame recorded at t_s or next before it. @throws InputError if t_s lies outside the take, RunError.
void WriteFrame(const Take& take, double t_s, const FilmChoice& choice, const std::filesystem::path& png);
/// All frames at the camera's rate. Tells how far it is unless quiet. @throws InputError for an odd size, RunError.
void WriteFilm(const Take& take, const FilmChoice& choice, const std::filesystem::path& mp4, bool quiet);

/// One sheet a lesson, policies as rows, of the grid's first arm, bench, camera, person, sensing and seed. The same bytes
/// whatever the order in which the takes finish. Never throws for want of a graphics driver: asks for it once, and `error`
/// tells.
class LessonSheets {
 public:
  explicit LessonSheets(const std::vector<GridTake>& grid);
  /// Films what the sheets need of a take that has just run. On the thread that made the object.
  void Film(size_t index, const Take& take);
  /// Films what is still missing, from `store` where that has the series, else by running the take again, and writes
  /// `sheet-LESSON.png` into the folder; returns the files' names. Tells how far it is unless quiet.
  std::vector<std::string> Write(const Store& store, SceneShelf& shelf, const std::filesystem::path& folder, bool quiet);
  const std::string& error() const { return error_; }

 private:
  struct Row {
    size_t index;  // in the grid
    std::string name;
  };
  void FilmMissing(const Store& store, SceneShelf& shelf, bool quiet);

  const std::vector<GridTake>* grid_;
  std::map<std::string, std::vector<Row>> rows_;  // by lesson, in the grid's order
  std::map<size_t, std::vector<SheetCell>> cells_;
  std::unique_ptr<Studio> studio_;
  std::string error_;
};

}  // namespace dryrig
