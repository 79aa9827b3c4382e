#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "viewer/render/picture.h"
#include "viewer/render/scene.h"
#include "viewer/render/view.h"

namespace dryrig {

/// A picture on the graphics side, anti-aliased, in sRGB. Needs a current OpenGL 3.3 core context for as long as it lives.
class Canvas {
 public:
  Canvas();
  ~Canvas();
  Canvas(const Canvas&) = delete;
  Canvas& operator=(const Canvas&) = delete;

  void Resize(int width, int height);  // keeps what it has if the size is the same
  int width() const { return width_; }
  int height() const { return height_; }
  /// Name of the finished picture's OpenGL texture; its first row is the picture's lowest.
  uint32_t texture() const;
  Picture Read() const;

 private:
  friend class Renderer;
  struct Impl;
  std::unique_ptr<Impl> impl_;
  int width_ = 0, height_ = 0;
};

struct DrawOptions {
  bool through_the_lens = false;  // leaves out the camera's own housing and all glass
  int highlight = -1;             // a body to draw as chosen
  bool shadows = true;
};

/// Body per pixel, rows from the top; -1: none.
struct IdPicture {
  int width = 0, height = 0;
  std::vector<int> body;
  int At(int x, int y) const { return body[static_cast<size_t>(y) * static_cast<size_t>(width) + static_cast<size_t>(x)]; }
};

/// Draws scenes. Needs a current OpenGL 3.3 core context for as long as it lives; keeps the meshes of the scene last drawn.
class Renderer {
 public:
  Renderer();  // @throws RunError if the context is too old
  ~Renderer();
  Renderer(const Renderer&) = delete;
  Renderer& operator=(const Renderer&) = delete;

  void Draw(const DrawnScene& scene, const View& view, const DrawOptions& options, Canvas* canvas);
  /// Not anti-aliased: each pixel is the body that the ray through its centre meets first.
  IdPicture DrawIds(const DrawnScene& scene, const View& view, const DrawOptions& options, int width, int height);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace dryrig
