#pragma once

#include <memory>

namespace dryrig {

/// An OpenGL 3.3 core context without window or display, current on the thread that made it (EGL, surfaceless platform).
class OffscreenContext {
 public:
  OffscreenContext();  // @throws RunError: no EGL, no OpenGL 3.3; says what is missing and the package that has it
  ~OffscreenContext();
  OffscreenContext(const OffscreenContext&) = delete;
  OffscreenContext& operator=(const OffscreenContext&) = delete;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace dryrig
