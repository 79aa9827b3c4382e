#pragma once

#include <imgui.h>

#include <memory>
#include <string>
#include <vector>

#include "viewer/render/picture.h"

struct GLFWwindow;

namespace dryrig {

/// What keyboard and desktop sent since the last frame, in order.
struct WindowEvents {
  struct Key {
    int key = 0, mods = 0;  // GLFW's
    bool down = true, repeat = false;
  };
  std::vector<Key> keys;
  std::vector<char32_t> typed;
  std::vector<std::string> dropped;  // files let fall on the window
};

/// The one window: GLFW, an OpenGL 3.3 core context that is current on this thread, and Dear ImGui in it.
class Window {
 public:
  struct Options {
    int width = 1280, height = 720;  // pixels if `exact`, else units that the display's scale multiplies
    bool exact = false;
    double scale = 0;  // pixels a unit; 0: the display's
  };
  /// @throws RunError: no display, or no OpenGL 3.3; says which and what to do.
  explicit Window(const Options& options);
  ~Window();
  Window(const Window&) = delete;
  Window& operator=(const Window&) = delete;

  bool closing() const;
  void Close();
  /// Waits up to `wait_s` for events and takes them in.
  WindowEvents Events(double wait_s);
  /// Something came in by the last call of Events: the next frames may differ.
  bool stirred() const { return stirred_; }
  /// Begins a frame of ImGui; it ends in Show, which draws it on the cleared window and swaps. `mouse` false: as if it were
  /// elsewhere, so that nothing is explained in passing.
  void Begin(bool mouse = true);
  /// `picture` not null: takes what was drawn.
  void Show(ImU32 ground, Picture* picture = nullptr);

  float scale() const;   // pixels a unit, by display or option
  ImVec2 size() const;   // in ImGui's coordinates
  float pixels() const;  // of the frame buffer a coordinate; 1 under X11
  void SetTitle(const std::string& title);
  void FontsChanged();  // has the font texture made again
  GLFWwindow* handle() const { return window_; }

 private:
  struct Callbacks;
  GLFWwindow* window_ = nullptr;
  double asked_scale_ = 0;
  WindowEvents events_;
  bool stirred_ = true;
};

}  // namespace dryrig
