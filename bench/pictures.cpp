#include "bench/pictures.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <future>

#include "bench/context.h"
#include "bench/progress.h"
#include "scenes/error.h"
#include "viewer/render/video.h"

namespace dryrig {

namespace fs = std::filesystem;

namespace {

constexpr int kSheetFrames = 24, kSheetColumns = 6, kSheetWidth_px = 320;  // contact sheet
constexpr int kRowFrames = 8, kRowWidth_px = 288;                          // a policy's row

std::string PlaceLine(const TakeIdentity& id) {
  return fmt::format("arm {} · {} at the {} · camera {} · sensing {} · seed {}", id.arm, id.person, id.bench, id.camera,
                     id.sensing, id.seed);
}

/// Frames that show what the intents became: the middles of some of them, spread over the lesson.
std::vector<double> IntentMoments_s(const Take& take, size_t most) {
  const size_t count = std::min(most, take.intents.size());
  if (count == 0) return EvenMoments_s(take.duration_s, static_cast<int>(most));
  std::vector<double> out;
  for (size_t i = 0; i < count; ++i) {
    const TimedIntent& intent = take.intents[count == 1 ? 0 : i * (take.intents.size() - 1) / (count - 1)];
    out.push_back(0.5 * (intent.start_s + std::min(intent.end_s, take.duration_s)));
  }
  return out;
}

std::string CaptionFor(const Take& take, size_t frame) {
  const double t_s = static_cast<double>(frame) / take.id.frame_hz;
  const TimedIntent* asked = RunningIntent(take, t_s);
  return fmt::format("{} · {} · {} · seed {} · {:5.1f} s · asked: {} · chosen: {}", take.id.lesson, take.id.policy,
                     take.id.person, take.id.seed, t_s, asked == nullptr ? "nothing" : ShortShotName(asked->shot),
                     ShortShotName(take.frames[frame].chosen));
}

/// As the command line spells it.
std::string RowName(const PolicyChoice& policy) {
  std::string out = policy.name;
  for (const auto& [key, value] : policy.values) out += fmt::format("{}{}={}", out == policy.name ? ":" : ",", key, value);
  return out;
}

FrameSize SizeFor(const Take& take, const FilmChoice& choice) {
  return choice.size.value_or(UsualSize(take.camera, choice.view));
}

}  // namespace

FrameSize ParseFrameSize(const std::string& text) {
  FrameSize size{};
  const char *const end = text.data() + text.size(), *const cross = std::find(text.data(), end, 'x');
  const auto whole = [](const char* from, const char* to, int* value) {
    const auto parsed = std::from_chars(from, to, *value);
    return parsed.ec == std::errc() && parsed.ptr == to && *value >= 16 && *value <= 8192;
  };
  if (cross == end || !whole(text.data(), cross, &size.width) || !whole(cross + 1, end, &size.height))
    throw InputError(fmt::format("--size {}: expected WIDTHxHEIGHT in pixels, each from 16 to 8192, as 960x540", text));
  return size;
}

void WriteContactSheet(const Take& take, const fs::path& png) {
  Studio studio;
  Sheet sheet;
  sheet.title = fmt::format("{}, policy {}", take.id.lesson, take.id.policy);
  sheet.subtitle = PlaceLine(take.id);
  sheet.caution = kCaution;
  sheet.columns = kSheetColumns;
  sheet.cells = FilmCells(take, EvenMoments_s(take.duration_s, kSheetFrames), kSheetWidth_px, &studio);
  WritePng(DrawSheet(sheet), png);
}

void WriteFrame(const Take& take, double t_s, const FilmChoice& choice, const fs::path& png) {
  if (!(t_s >= 0 && t_s <= take.duration_s))
    throw InputError(fmt::format("--frame {}: the take lasts from 0 to {:.3f} s", t_s, take.duration_s));
  Studio studio;
  DrawnScene scene(take);
  const TakeFrame& frame = take.frames[FilmFrame(take, t_s)];
  scene.SetFrame(frame);
  WritePng(studio.Draw(scene, take, frame, choice.view, SizeFor(take, choice)), png);
}

void WriteFilm(const Take& take, const FilmChoice& choice, const fs::path& mp4, bool quiet) {
  const FrameSize size = SizeFor(take, choice);
  if (size.width % 2 != 0 || size.height % 2 != 0)
    throw InputError(fmt::format("--size {}x{}: a film's width and height are even", size.width, size.height));
  Studio studio;
  DrawnScene scene(take);
  VideoWriter writer(mp4, size.width, size.height, take.id.frame_hz);
  Progress progress(take.frames.size(), quiet, "frames");
  // A picture is captioned and handed over while the next one is drawn.
  std::future<void> written;
  for (size_t i = 0; i < take.frames.size(); ++i) {
    scene.SetFrame(take.frames[i]);
    Picture drawn = studio.Draw(scene, take, take.frames[i], choice.view, size);
    if (written.valid()) written.get();
    written = std::async(std::launch::async, [&take, &writer, i, picture = std::move(drawn)]() mutable {
      Caption(CaptionFor(take, i), &picture);
      writer.Add(picture);
    });
    progress.Done(mp4.filename().string());
  }
  if (written.valid()) written.get();
  writer.Finish();
  progress.Finish();
}

LessonSheets::LessonSheets(const std::vector<GridTake>& grid) : grid_(&grid) {
  for (size_t i = 0; i < grid.size(); ++i) {
    const TakeIdentity& id = grid[i].id;
    std::vector<Row>& rows = rows_[id.lesson];
    if (!rows.empty()) {
      const TakeIdentity& first = grid[rows.front().index].id;
      if (id.arm != first.arm || id.bench != first.bench || id.camera != first.camera || id.person != first.person ||
          id.sensing != first.sensing || id.seed != first.seed)
        continue;
    }
    rows.push_back({i, RowName(grid[i].choice.policy)});
  }
  try {
    studio_ = std::make_unique<Studio>();
  } catch (const RunError& error) {
    error_ = error.what();
  }
}

void LessonSheets::Film(size_t index, const Take& take) {
  if (studio_ == nullptr) return;
  const std::vector<Row>& rows = rows_.at(take.id.lesson);
  if (std::none_of(rows.begin(), rows.end(), [&](const Row& row) { return row.index == index; })) return;
  cells_[index] = FilmCells(take, IntentMoments_s(take, kRowFrames), kRowWidth_px, studio_.get());
}

void LessonSheets::FilmMissing(const Store& store, SceneShelf& shelf, bool quiet) {
  std::vector<std::pair<size_t, int64_t>> missing;
  for (const auto& [lesson, rows] : rows_) {
    for (const Row& row : rows) {
      const auto id = store.FindTake((*grid_)[row.index].id);
      if (id && !cells_.contains(row.index)) missing.emplace_back(row.index, *id);
    }
  }
  if (missing.empty()) return;
  Progress progress(missing.size(), quiet, "takes for sheets");
  for (const auto& [index, id] : missing) {
    const GridTake& take = (*grid_)[index];
    if (store.HasSeries(id)) {
      Film(index, store.ReadTake(id));
    } else {
      const PreparedTake prepared = Prepare(take.choice, shelf);
      Film(index, RunTake(prepared.setup, *prepared.MakePolicy()));
    }
    progress.Done(fmt::format("{} by {}", take.id.lesson, take.id.policy));
  }
  progress.Finish();
}

std::vector<std::string> LessonSheets::Write(const Store& store, SceneShelf& shelf, const fs::path& folder, bool quiet) {
  std::vector<std::string> files;
  if (studio_ == nullptr) return files;
  FilmMissing(store, shelf, quiet);
  for (const auto& [lesson, rows] : rows_) {
    Sheet sheet;
    std::string left_out;
    for (const Row& row : rows) {
      const auto cells = cells_.find(row.index);
      if (cells == cells_.end()) {
        left_out += fmt::format(" · {} failed", row.name);
        continue;
      }
      sheet.columns = static_cast<int>(cells->second.size());
      sheet.row_names.push_back(row.name);
      sheet.cells.insert(sheet.cells.end(), cells->second.begin(), cells->second.end());
    }
    if (sheet.cells.empty()) continue;
    sheet.title = fmt::format("{}: the same moments by {} {}", lesson, sheet.row_names.size(),
                              sheet.row_names.size() == 1 ? "policy" : "policies");
    sheet.subtitle = PlaceLine((*grid_)[rows.front().index].id) + left_out;
    sheet.caution = kCaution;
    files.push_back(fmt::format("sheet-{}.png", lesson));
    WritePng(DrawSheet(sheet), folder / files.back());
  }
  return files;
}

}  // namespace dryrig
