#pragma once

#include <epoxy/gl.h>

#include "viewer/render/renderer.h"

namespace dryrig {

/// What a canvas is made of: a frame that is drawn on, its luminance in alpha, and the one that its smoothed picture goes into.
/// Both have the same depths and stencil.
struct Canvas::Impl {
  GLuint drawn = 0, finished = 0;  // frame buffers
  GLuint raw = 0, depth = 0;       // texture of `drawn`; render buffer of both
  GLuint texture = 0;

  ~Impl();
};

}  // namespace dryrig
