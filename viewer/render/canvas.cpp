#include "viewer/render/canvas.h"

#include <algorithm>

#include "viewer/render/gl.h"

namespace dryrig {

namespace {

/// A frame with a texture to draw on, and to look up smoothly.
void Attach(GLuint frame, GLuint texture, GLuint depth, int width, int height) {
  glBindTexture(GL_TEXTURE_2D, texture);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, width, height, 0, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
  for (const GLenum filter : {GL_TEXTURE_MIN_FILTER, GL_TEXTURE_MAG_FILTER}) glTexParameteri(GL_TEXTURE_2D, filter, GL_LINEAR);
  for (const GLenum wrap : {GL_TEXTURE_WRAP_S, GL_TEXTURE_WRAP_T}) glTexParameteri(GL_TEXTURE_2D, wrap, GL_CLAMP_TO_EDGE);
  glBindTexture(GL_TEXTURE_2D, 0);
  glBindFramebuffer(GL_FRAMEBUFFER, frame);
  glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, texture, 0);
  glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_DEPTH_STENCIL_ATTACHMENT, GL_RENDERBUFFER, depth);
  RequireComplete("a picture");
}

}  // namespace

Canvas::Impl::~Impl() {
  for (const GLuint* frame : {&drawn, &finished}) glDeleteFramebuffers(1, frame);
  glDeleteRenderbuffers(1, &depth);
  for (const GLuint* name : {&raw, &texture}) glDeleteTextures(1, name);
}

Canvas::Canvas() : impl_(std::make_unique<Impl>()) {
  for (GLuint* frame : {&impl_->drawn, &impl_->finished}) glGenFramebuffers(1, frame);
  glGenRenderbuffers(1, &impl_->depth);
  for (GLuint* name : {&impl_->raw, &impl_->texture}) glGenTextures(1, name);
}

Canvas::~Canvas() = default;

void Canvas::Resize(int width, int height) {
  width = std::max(width, 1);
  height = std::max(height, 1);
  if (width == width_ && height == height_) return;
  const KeepState keep;
  glBindRenderbuffer(GL_RENDERBUFFER, impl_->depth);
  glRenderbufferStorage(GL_RENDERBUFFER, GL_DEPTH24_STENCIL8, width, height);
  glBindRenderbuffer(GL_RENDERBUFFER, 0);
  Attach(impl_->drawn, impl_->raw, impl_->depth, width, height);
  Attach(impl_->finished, impl_->texture, impl_->depth, width, height);
  // The fourth channel has each pixel's luminance: who lays the picture over something else must not see through it.
  glBindTexture(GL_TEXTURE_2D, impl_->texture);
  glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_SWIZZLE_A, GL_ONE);
  glBindTexture(GL_TEXTURE_2D, 0);
  width_ = width;
  height_ = height;
}

uint32_t Canvas::texture() const {
  return impl_->texture;
}

Picture Canvas::Read() const {
  Picture picture{width_, height_, {}};
  const auto row = static_cast<size_t>(width_), rows = static_cast<size_t>(height_);
  std::vector<uint8_t> upside_down(4 * row * rows);
  const KeepState keep;
  glBindFramebuffer(GL_READ_FRAMEBUFFER, impl_->finished);
  glPixelStorei(GL_PACK_ALIGNMENT, 4);
  glReadPixels(0, 0, width_, height_, GL_RGBA, GL_UNSIGNED_BYTE, upside_down.data());
  picture.rgb.resize(3 * row * rows);
  for (size_t y = 0; y < rows; ++y) {
    const uint8_t* from = &upside_down[4 * row * (rows - 1 - y)];
    uint8_t* to = &picture.rgb[3 * row * y];
    for (size_t x = 0; x < row; ++x, from += 4, to += 3) to[0] = from[0], to[1] = from[1], to[2] = from[2];
  }
  return picture;
}

}  // namespace dryrig
