#pragma once

#include <epoxy/gl.h>

#include "viewer/render/renderer.h"

namespace dryrig {

/// What a canvas is made of: a many-sampled frame that is drawn on, and a texture that it is resolved into.
struct Canvas::Impl {
  GLuint drawn = 0, finished = 0;  // frame buffers
  GLuint colour = 0, depth = 0;    // render buffers of `drawn`
  GLuint texture = 0;

  ~Impl();
};

}  // namespace dryrig
