#include "viewer/render/studio.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr uint8_t kBar = 24;

/// The largest size of this aspect inside another, even, so that video takes it.
FrameSize Fit(double aspect, FrameSize into) {
  const double height = std::min<double>(into.height, into.width / aspect);
  const auto even = [](double length) { return std::max(2, 2 * static_cast<int>(std::round(0.5 * length))); };
  return {std::min(into.width, even(height * aspect)), std::min(into.height, even(height))};
}

void Paste(const Picture& picture, int left, int top, Picture* onto) {
  for (int y = 0; y < picture.height; ++y) {
    const auto from = picture.rgb.begin() + static_cast<ptrdiff_t>(3) * y * picture.width;
    std::copy(from, from + static_cast<ptrdiff_t>(3) * picture.width,
              onto->rgb.begin() + static_cast<ptrdiff_t>(3) * ((top + y) * static_cast<ptrdiff_t>(onto->width) + left));
  }
}

}  // namespace

FilmView ParseFilmView(std::string_view word) {
  if (word == "lens") return FilmView::kLens;
  if (word == "room") return FilmView::kRoom;
  if (word == "both") return FilmView::kBoth;
  throw InputError(fmt::format("no view \"{}\"{}", word, Suggest(word, {"lens", "room", "both"})));
}

FrameSize UsualSize(const CameraBody& camera, FilmView view) {
  constexpr int kRows = 540;
  const FrameSize one = Fit(camera.aspect(), {1 << 20, kRows});
  return {view == FilmView::kBoth ? 2 * one.width : one.width, one.height};
}

Orbit ObserverOf(const Take& take) {
  Orbit orbit;
  const double side_m = take.X_WB.translation().x();
  if (side_m < 0) orbit.azimuth_rad = -orbit.azimuth_rad;
  orbit.p_WTarget = {0.25 * side_m, 0.2, take.bench_top.X_LS.translation().z() + 0.05};
  orbit.distance_m = 3.0;
  return orbit;
}

Picture Studio::DrawFrom(const DrawnScene& scene, const View& view, FrameSize size) {
  canvas_.Resize(size.width, size.height);
  renderer_.Draw(scene, view, {}, &canvas_);
  return canvas_.Read();
}

IdPicture Studio::DrawIds(const DrawnScene& scene, const View& view, int width, int height) {
  return renderer_.DrawIds(scene, view, {}, width, height);
}

Picture Studio::Draw(const DrawnScene& scene, const Take& take, const TakeFrame& frame, FilmView view, FrameSize size) {
  if (view == FilmView::kRoom)
    return DrawFrom(scene, RoomView(ObserverOf(take), static_cast<double>(size.width) / size.height), size);
  const FrameSize half{view == FilmView::kBoth ? size.width / 2 : size.width, size.height};
  const FrameSize lens = Fit(take.camera.aspect(), half);
  canvas_.Resize(lens.width, lens.height);
  renderer_.Draw(scene, LensView(take.camera, frame.lens, frame.X_WC), {true, -1, true}, &canvas_);
  if (lens.width == size.width && lens.height == size.height) return canvas_.Read();

  Picture out{size.width, size.height, {}};
  out.rgb.assign(3 * static_cast<size_t>(size.width) * static_cast<size_t>(size.height), kBar);
  const int left = (half.width - lens.width) / 2, top = (size.height - lens.height) / 2;
  Paste(canvas_.Read(), left, top, &out);
  if (view == FilmView::kBoth) {
    renderer_.Draw(scene, RoomView(ObserverOf(take), static_cast<double>(lens.width) / lens.height), {}, &canvas_);
    Paste(canvas_.Read(), half.width + left, top, &out);
  }
  return out;
}

size_t FilmFrame(const Take& take, double t_s) {
  // A frame's own time, as a decimal, may lie a rounding error below it.
  const double frame = std::floor(t_s * take.id.frame_hz + 1e-6);
  return static_cast<size_t>(std::clamp(frame, 0.0, static_cast<double>(take.frames.size() - 1)));
}

}  // namespace dryrig
