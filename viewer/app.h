#pragma once

#include <filesystem>

#include "viewer/command_line.h"
#include "viewer/desk.h"
#include "viewer/window.h"

namespace dryrig {

/// The window and everything in it.
class App {
 public:
  /// @throws RunError: no display or no OpenGL 3.3.
  explicit App(const ViewOptions& options);
  ~App();
  App(const App&) = delete;
  App& operator=(const App&) = delete;

  /// One frame: takes in what happened, draws. Waits up to `wait_s` for something to happen, but not while anything moves.
  void Frame(double wait_s = 0, Picture* picture = nullptr);
  /// Until the window is closed.
  void Run();
  /// Waits for all filming, then draws the whole window into a picture. @throws InputError, RunError if what was asked for cannot
  /// be opened.
  Picture Screenshot();

  Desk& desk() { return *desk_; }
  Window& window() { return window_; }
  bool closing() const { return window_.closing(); }

 private:
  void FitFonts();
  void TakeIn(const WindowEvents& events, double dt_s);
  void Do(int command);
  void DrawPanels();
  void Remember();
  void Hurry(double frame_s);
  bool moving() const;

  ViewOptions options_;
  std::filesystem::path settings_file_;
  Window window_;
  std::unique_ptr<Desk> desk_;
  double last_s_ = 0;
  int late_ = 0;  // frames in a row that came late while the picture moved
  double shown_t_s_ = -1;
  int lively_ = 0;  // frames still to be drawn at once: ImGui answers an event one or two frames later
  float fonts_scale_ = 0;
  std::string remembered_;
  std::string title_;
};

}  // namespace dryrig
