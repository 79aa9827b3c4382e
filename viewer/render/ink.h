#pragma once

#include <cairo.h>

#include <memory>
#include <string>

#include "viewer/render/picture.h"

namespace dryrig {

/// Red, green, blue of the screen, 0–1.
struct Colour {
  double red = 0, green = 0, blue = 0;
};

/// A sheet of paper that is drawn and written on with cairo. Pixels from the top left corner.
class Paper {
 public:
  Paper(int width, int height, Colour colour);

  void Fill(double x, double y, double width, double height, Colour colour);
  void Frame(double x, double y, double width, double height, double line, Colour colour);
  /// Slanting lines, for areas that must not differ by colour alone.
  void Hatch(double x, double y, double width, double height, Colour colour);
  void Paste(const Picture& picture, double x, double y);
  /// One line from x on, its letters' foot at y. What is wider than `width` is set narrower, by a quarter at most; if that is not
  /// enough it ends in an ellipsis.
  void Write(double x, double y, double width, double size, const std::string& text, Colour colour, bool bold = false);
  Picture Done();

 private:
  struct Free {
    void operator()(cairo_t* context) const { cairo_destroy(context); }
    void operator()(cairo_surface_t* surface) const { cairo_surface_destroy(surface); }
  };
  std::unique_ptr<cairo_surface_t, Free> surface_;
  std::unique_ptr<cairo_t, Free> context_;
  int width_, height_;
};

/// A picture as cairo holds it, and back.
std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> ToSurface(const Picture& picture);
Picture FromSurface(cairo_surface_t* surface);

}  // namespace dryrig
