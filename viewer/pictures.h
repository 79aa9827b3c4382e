#pragma once

#include <array>
#include <memory>

#include "sim/sight.h"
#include "viewer/filmed.h"
#include "viewer/render/renderer.h"
#include "viewer/render/view.h"

namespace dryrig {

/// The views of the takes that are open, each drawn anew only when what it shows has changed. Needs a current OpenGL context.
class Pictures {
 public:
  using Shown = std::shared_ptr<const FilmedTake>;

  /// What a view shows beside the take and the frame.
  struct How {
    int width = 0, height = 0;
    int highlight = -1;
    bool shadows = true;
    bool operator==(const How&) const = default;
  };
  /// Name of a texture whose first row is the picture's lowest.
  uint32_t Lens(int slot, const Shown& filmed, size_t frame, const How& how);
  uint32_t Room(int slot, const Shown& filmed, size_t frame, const Orbit& orbit, const How& how);
  /// The body under a pixel of that view as last drawn; -1: none.
  int BodyInLens(int slot, int x, int y);
  int BodyInRoom(int x, int y);

  /// Lines of sight to a shot's subject in a frame; kept until one of the three changes.
  const SightReport& Sight(int slot, const Shown& filmed, size_t frame, const Shot& shot);
  /// Name and number of bodies of the take last drawn in this slot.
  const std::string& NameOf(int slot, int body) const { return open_[static_cast<size_t>(slot)].scene->NameOf(body); }
  int BodiesOf(int slot) const {
    return open_[static_cast<size_t>(slot)].scene ? open_[static_cast<size_t>(slot)].scene->bodies() : 0;
  }

  /// Views drawn so far: a measure of what caching saves.
  int drawn() const { return drawn_; }

 private:
  struct Open {
    Shown filmed;
    std::unique_ptr<DrawnScene> scene;
    std::unique_ptr<SightScene> sight_scene;
    size_t frame = 0;
    bool framed = false;
    SightReport sight;
    size_t sight_frame = 0;
    Shot sight_shot;
    bool looked = false;
  };
  struct Drawn {  // on a canvas
    Canvas canvas;
    Shown filmed;
    int slot = 0;
    size_t frame = 0;
    View view;
    How how;
  };
  const DrawnScene& SceneAt(int slot, const Shown& filmed, size_t frame);
  uint32_t DrawIfChanged(Drawn* drawn, int slot, const Shown& filmed, size_t frame, const View& view, const How& how, bool lens);
  int BodyAt(const Drawn& drawn, int x, int y, bool lens);

  Renderer renderer_;
  std::array<Open, 2> open_;
  std::array<Drawn, 2> lens_;
  Drawn room_;
  int drawn_ = 0;
};

}  // namespace dryrig
