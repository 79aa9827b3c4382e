#pragma once

#include <epoxy/gl.h>

#include <Eigen/Core>
#include <string>

namespace dryrig {

/// A linked pair of shaders. Needs a current context for as long as it lives.
class Program {
 public:
  /// @throws RunError with the driver's words.
  Program(const std::string& vertex, const std::string& fragment);
  ~Program() { glDeleteProgram(name_); }
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  void Use() const { glUseProgram(name_); }
  void Set(const char* uniform, const Eigen::Matrix4f& value) const {
    glUniformMatrix4fv(At(uniform), 1, GL_FALSE, value.data());
  }
  void Set(const char* uniform, const Eigen::Vector3f& value) const { glUniform3fv(At(uniform), 1, value.data()); }
  void Set(const char* uniform, float value) const { glUniform1f(At(uniform), value); }
  void Set(const char* uniform, int value) const { glUniform1i(At(uniform), value); }

 private:
  GLint At(const char* uniform) const { return glGetUniformLocation(name_, uniform); }
  GLuint name_ = 0;
};

/// Puts back, at its end, the frame buffer, viewport and switches that drawing changes, so that a window's own drawing goes on.
class KeepState {
 public:
  KeepState();
  ~KeepState();
  KeepState(const KeepState&) = delete;
  KeepState& operator=(const KeepState&) = delete;

 private:
  GLint draw_ = 0, read_ = 0, viewport_[4] = {};
};

/// @throws RunError if the bound frame buffer cannot be drawn on.
void RequireComplete(const char* what);

}  // namespace dryrig
