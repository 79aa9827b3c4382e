#pragma once

#include <string_view>

#include "viewer/render/offscreen.h"
#include "viewer/render/renderer.h"

namespace dryrig {

/// What a picture of a take shows: what its lens saw, the room from aside, or both side by side.
enum class FilmView { kLens, kRoom, kBoth };
/// @throws InputError with the nearest word.
FilmView ParseFilmView(std::string_view word);
struct FrameSize {
  int width, height;
};
/// What a view is drawn at unless told otherwise: the lens's own aspect 540 rows high; both side by side are twice as wide.
FrameSize UsualSize(const CameraBody& camera, FilmView view);

/// An observer who has the arm at the picture's edge and the instructor before them, whichever side the arm stands on.
Orbit ObserverOf(const Take& take);

/// All that pictures without a window need, on the thread that made it.
class Studio {
 public:
  Studio() = default;  // @throws RunError where nothing can be drawn; says what is missing
  /// The scene as it stands, from this frame's camera or from the room. What the lens saw keeps its aspect: where the size has
  /// another one it gets bars. `scene` is at `frame`.
  Picture Draw(const DrawnScene& scene, const Take& take, const TakeFrame& frame, FilmView view, FrameSize size);
  /// The scene from any place, with all that stands in the room.
  Picture DrawFrom(const DrawnScene& scene, const View& view, FrameSize size);
  IdPicture DrawIds(const DrawnScene& scene, const View& view, int width, int height);

 private:
  OffscreenContext context_;
  Renderer renderer_;
  Canvas canvas_;
};

/// The frame of a take recorded at or next before t_s, inside its ends. @pre it has frames
size_t FilmFrame(const Take& take, double t_s);

}  // namespace dryrig
