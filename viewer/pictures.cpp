#include "viewer/pictures.h"

namespace dryrig {

namespace {

bool Same(const View& a, const View& b) {
  return a.X_WC.matrix() == b.X_WC.matrix() && a.tan_half_height == b.tan_half_height && a.aspect == b.aspect;
}

}  // namespace

const DrawnScene& Pictures::SceneAt(int slot, const Shown& filmed, size_t frame) {
  Open& open = open_[static_cast<size_t>(slot)];
  if (open.filmed != filmed) {
    open = Open{};
    open.filmed = filmed;
    open.scene = std::make_unique<DrawnScene>(filmed->take);
    open.sight_scene = std::make_unique<SightScene>(filmed->take);
  }
  if (!open.framed || open.frame != frame) {
    open.scene->SetFrame(filmed->take.frames[frame]);
    open.frame = frame;
    open.framed = true;
  }
  return *open.scene;
}

uint32_t Pictures::DrawIfChanged(Drawn* drawn, int slot, const Shown& filmed, size_t frame, const View& view, const How& how,
                                 bool lens) {
  const bool same = drawn->filmed == filmed && drawn->slot == slot && drawn->frame == frame && drawn->how == how &&
                    Same(drawn->view, view) && open_[static_cast<size_t>(slot)].filmed == filmed;
  if (!same) {
    const DrawnScene& scene = SceneAt(slot, filmed, frame);
    drawn->canvas.Resize(how.width, how.height);
    renderer_.Draw(scene, view, {lens, how.highlight, how.shadows}, &drawn->canvas);
    drawn->filmed = filmed;
    drawn->slot = slot;
    drawn->frame = frame;
    drawn->view = view;
    drawn->how = how;
    ++drawn_;
  }
  return drawn->canvas.texture();
}

uint32_t Pictures::Lens(int slot, const Shown& filmed, size_t frame, const How& how) {
  const TakeFrame& at = filmed->take.frames[frame];
  const View view = LensView(filmed->take.camera, at.lens, at.X_WC);
  return DrawIfChanged(&lens_[static_cast<size_t>(slot)], slot, filmed, frame, view, how, true);
}

uint32_t Pictures::Room(int slot, const Shown& filmed, size_t frame, const Orbit& orbit, const How& how) {
  const View view = RoomView(orbit, static_cast<double>(how.width) / how.height);
  return DrawIfChanged(&room_, slot, filmed, frame, view, how, false);
}

int Pictures::BodyAt(const Drawn& drawn, int x, int y, bool lens) {
  if (!drawn.filmed || x < 0 || y < 0 || x >= drawn.how.width || y >= drawn.how.height) return -1;
  const Open& open = open_[static_cast<size_t>(drawn.slot)];
  if (open.filmed != drawn.filmed) return -1;
  const DrawnScene& scene = SceneAt(drawn.slot, open.filmed, drawn.frame);
  return renderer_.DrawIds(scene, drawn.view, {lens}, drawn.how.width, drawn.how.height).At(x, y);
}

int Pictures::BodyInLens(int slot, int x, int y) {
  return BodyAt(lens_[static_cast<size_t>(slot)], x, y, true);
}
int Pictures::BodyInRoom(int x, int y) {
  return BodyAt(room_, x, y, false);
}

const SightReport& Pictures::Sight(int slot, const Shown& filmed, size_t frame, const Shot& shot) {
  SceneAt(slot, filmed, frame);
  Open& open = open_[static_cast<size_t>(slot)];
  if (!open.looked || open.sight_frame != frame || !(open.sight_shot == shot)) {
    open.sight = Look(filmed->take, frame, shot, open.sight_scene.get());
    open.sight_frame = frame;
    open.sight_shot = shot;
    open.looked = true;
  }
  return open.sight;
}

}  // namespace dryrig
