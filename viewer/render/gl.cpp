#include "viewer/render/gl.h"

#include <fmt/format.h>

#include "scenes/error.h"

namespace dryrig {

namespace {

GLuint Compile(GLenum kind, const std::string& source) {
  const GLuint shader = glCreateShader(kind);
  const char* text = source.c_str();
  glShaderSource(shader, 1, &text, nullptr);
  glCompileShader(shader);
  GLint ok = GL_FALSE;
  glGetShaderiv(shader, GL_COMPILE_STATUS, &ok);
  if (ok) return shader;
  char log[2048] = "";
  glGetShaderInfoLog(shader, sizeof log, nullptr, log);
  glDeleteShader(shader);
  throw RunError(fmt::format("the OpenGL driver refuses a shader: {}", log));
}

}  // namespace

Program::Program(const std::string& vertex, const std::string& fragment) : name_(glCreateProgram()) {
  try {
    for (const auto& [kind, source] : {std::pair(GL_VERTEX_SHADER, &vertex), std::pair(GL_FRAGMENT_SHADER, &fragment)}) {
      const GLuint shader = Compile(static_cast<GLenum>(kind), *source);
      glAttachShader(name_, shader);
      glDeleteShader(shader);  // with the program
    }
    glLinkProgram(name_);
    GLint ok = GL_FALSE;
    glGetProgramiv(name_, GL_LINK_STATUS, &ok);
    if (!ok) {
      char log[2048] = "";
      glGetProgramInfoLog(name_, sizeof log, nullptr, log);
      throw RunError(fmt::format("the OpenGL driver does not link a program: {}", log));
    }
  } catch (...) {
    glDeleteProgram(name_);
    throw;
  }
}

KeepState::KeepState() {
  glGetIntegerv(GL_DRAW_FRAMEBUFFER_BINDING, &draw_);
  glGetIntegerv(GL_READ_FRAMEBUFFER_BINDING, &read_);
  glGetIntegerv(GL_VIEWPORT, viewport_);
  glDisable(GL_SCISSOR_TEST);
  glDisable(GL_BLEND);
  glDisable(GL_STENCIL_TEST);
  glStencilMask(1);
  glEnable(GL_DEPTH_TEST);
  glEnable(GL_CULL_FACE);
  glDepthFunc(GL_LESS);
  glDepthMask(GL_TRUE);
  glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
  glFrontFace(GL_CCW);
  glCullFace(GL_BACK);
  glPolygonMode(GL_FRONT_AND_BACK, GL_FILL);
}

KeepState::~KeepState() {
  glBindFramebuffer(GL_DRAW_FRAMEBUFFER, static_cast<GLuint>(draw_));
  glBindFramebuffer(GL_READ_FRAMEBUFFER, static_cast<GLuint>(read_));
  glViewport(viewport_[0], viewport_[1], viewport_[2], viewport_[3]);
  glDisable(GL_DEPTH_TEST);
  glDisable(GL_CULL_FACE);
  glDisable(GL_BLEND);
  glBindVertexArray(0);
  glUseProgram(0);
}

void RequireComplete(const char* what) {
  const GLenum status = glCheckFramebufferStatus(GL_FRAMEBUFFER);
  if (status != GL_FRAMEBUFFER_COMPLETE)
    throw RunError(fmt::format("the OpenGL driver has no frame buffer for {} (status 0x{:04X})", what, status));
}

}  // namespace dryrig
