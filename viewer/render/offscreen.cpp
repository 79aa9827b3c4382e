#include "viewer/render/offscreen.h"

#include <epoxy/egl.h>
#include <epoxy/gl.h>
#include <fmt/format.h>

#include <string>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr const char* kMend =
    "pictures need EGL with Mesa's surfaceless platform and OpenGL 3.3 (Debian packages libegl1, libegl-mesa0, libgl1-mesa-dri)";

[[noreturn]] void Missing(const std::string& what) {
  throw RunError(fmt::format("no picture can be drawn: {}; {}", what, kMend));
}

std::string LastError() {
  return fmt::format("EGL error 0x{:04X}", static_cast<unsigned>(eglGetError()));
}

}  // namespace

struct OffscreenContext::Impl {
  EGLDisplay display = EGL_NO_DISPLAY;
  EGLContext context = EGL_NO_CONTEXT;

  // The display is left as it is: it is the process's one, and other contexts may live on it.
  ~Impl() {
    if (context == EGL_NO_CONTEXT) return;
    if (eglGetCurrentContext() == context) eglMakeCurrent(display, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
    eglDestroyContext(display, context);
  }
};

OffscreenContext::OffscreenContext() : impl_(std::make_unique<Impl>()) {
  if (!epoxy_has_egl()) Missing("libEGL.so.1 is not there");
  if (!epoxy_has_egl_extension(EGL_NO_DISPLAY, "EGL_MESA_platform_surfaceless"))
    Missing("EGL has no driver for the surfaceless platform");
  impl_->display = eglGetPlatformDisplayEXT(EGL_PLATFORM_SURFACELESS_MESA, nullptr, nullptr);
  if (impl_->display == EGL_NO_DISPLAY) Missing("EGL has no surfaceless display");
  if (!eglInitialize(impl_->display, nullptr, nullptr)) Missing("EGL does not start (" + LastError() + ")");
  if (!eglBindAPI(EGL_OPENGL_API)) Missing("EGL has no OpenGL");
  const EGLint attributes[] = {
      EGL_CONTEXT_MAJOR_VERSION,           3,       EGL_CONTEXT_MINOR_VERSION, 3, EGL_CONTEXT_OPENGL_PROFILE_MASK,
      EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT, EGL_NONE};
  impl_->context = eglCreateContext(impl_->display, EGL_NO_CONFIG_KHR, EGL_NO_CONTEXT, attributes);
  if (impl_->context == EGL_NO_CONTEXT) Missing("the driver has no OpenGL 3.3 core (" + LastError() + ")");
  if (!eglMakeCurrent(impl_->display, EGL_NO_SURFACE, EGL_NO_SURFACE, impl_->context))
    Missing("the driver draws on windows alone (" + LastError() + ")");
}

OffscreenContext::~OffscreenContext() = default;

}  // namespace dryrig
