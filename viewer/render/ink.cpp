#include "viewer/render/ink.h"

#include <algorithm>
#include <new>

namespace dryrig {

namespace {

void CheckMade(cairo_status_t status) {
  if (status != CAIRO_STATUS_SUCCESS) throw std::bad_alloc();  // the one reason why cairo makes nothing of a good size
}

constexpr double kNarrowest = 0.75;

void SetFont(cairo_t* context, double size, bool bold) {
  cairo_select_font_face(context, "sans-serif", CAIRO_FONT_SLANT_NORMAL,
                         bold ? CAIRO_FONT_WEIGHT_BOLD : CAIRO_FONT_WEIGHT_NORMAL);
  cairo_set_font_size(context, size);
}

double WidthOf(cairo_t* context, const std::string& text) {
  cairo_text_extents_t extents;
  cairo_text_extents(context, text.c_str(), &extents);
  return extents.x_advance;
}

/// As much of a UTF-8 text as fits.
std::string Fitted(cairo_t* context, const std::string& text, double width) {
  if (WidthOf(context, text) <= width) return text;
  size_t length = text.size();
  while (length > 0) {
    do --length;
    while (length > 0 && (static_cast<unsigned char>(text[length]) & 0xC0) == 0x80);
    const std::string shorter = text.substr(0, length) + "…";
    if (WidthOf(context, shorter) <= width) return shorter;
  }
  return "";
}

}  // namespace

std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> ToSurface(const Picture& picture) {
  std::unique_ptr<cairo_surface_t, void (*)(cairo_surface_t*)> surface(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width, picture.height), cairo_surface_destroy);
  CheckMade(cairo_surface_status(surface.get()));
  unsigned char* const data = cairo_image_surface_get_data(surface.get());
  const auto stride = static_cast<size_t>(cairo_image_surface_get_stride(surface.get()));
  const auto width = static_cast<size_t>(picture.width);
  for (size_t y = 0; y < static_cast<size_t>(picture.height); ++y) {
    auto* row = reinterpret_cast<uint32_t*>(data + y * stride);
    const uint8_t* from = picture.rgb.data() + 3 * y * width;
    for (size_t x = 0; x < width; ++x, from += 3) row[x] = uint32_t{from[0]} << 16 | uint32_t{from[1]} << 8 | from[2];
  }
  cairo_surface_mark_dirty(surface.get());
  return surface;
}

Picture FromSurface(cairo_surface_t* surface) {
  cairo_surface_flush(surface);
  Picture picture{cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface), {}};
  const unsigned char* const data = cairo_image_surface_get_data(surface);
  const auto stride = static_cast<size_t>(cairo_image_surface_get_stride(surface)), width = static_cast<size_t>(picture.width);
  picture.rgb.resize(3 * width * static_cast<size_t>(picture.height));
  uint8_t* to = picture.rgb.data();
  for (size_t y = 0; y < static_cast<size_t>(picture.height); ++y) {
    const auto* row = reinterpret_cast<const uint32_t*>(data + y * stride);
    for (size_t x = 0; x < width; ++x, to += 3) {
      to[0] = static_cast<uint8_t>(row[x] >> 16);
      to[1] = static_cast<uint8_t>(row[x] >> 8);
      to[2] = static_cast<uint8_t>(row[x]);
    }
  }
  return picture;
}

Paper::Paper(int width, int height, Colour colour)
    : surface_(cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height)), width_(width), height_(height) {
  CheckMade(cairo_surface_status(surface_.get()));
  context_.reset(cairo_create(surface_.get()));
  Fill(0, 0, width, height, colour);
}

void Paper::Fill(double x, double y, double width, double height, Colour colour) {
  cairo_set_source_rgb(context_.get(), colour.red, colour.green, colour.blue);
  cairo_rectangle(context_.get(), x, y, width, height);
  cairo_fill(context_.get());
}

void Paper::Frame(double x, double y, double width, double height, double line, Colour colour) {
  cairo_set_source_rgb(context_.get(), colour.red, colour.green, colour.blue);
  cairo_set_line_width(context_.get(), line);
  cairo_rectangle(context_.get(), x - 0.5 * line, y - 0.5 * line, width + line, height + line);
  cairo_stroke(context_.get());
}

void Paper::Hatch(double x, double y, double width, double height, Colour colour) {
  cairo_t* const context = context_.get();
  cairo_save(context);
  cairo_rectangle(context, x, y, width, height);
  cairo_clip(context);
  cairo_set_source_rgb(context, colour.red, colour.green, colour.blue);
  cairo_set_line_width(context, 3);
  for (double from = x - height; from < x + width; from += 8) {
    cairo_move_to(context, from, y + height);
    cairo_line_to(context, from + height, y);
  }
  cairo_stroke(context);
  cairo_restore(context);
}

void Paper::Paste(const Picture& picture, double x, double y) {
  const auto surface = ToSurface(picture);
  cairo_set_source_surface(context_.get(), surface.get(), x, y);
  cairo_rectangle(context_.get(), x, y, picture.width, picture.height);
  cairo_fill(context_.get());
}

void Paper::Write(double x, double y, double width, double size, const std::string& text, Colour colour, bool bold) {
  SetFont(context_.get(), size, bold);
  cairo_set_source_rgb(context_.get(), colour.red, colour.green, colour.blue);
  cairo_t* const context = context_.get();
  // Step by step, as letters fitted to pixels do not grow narrower in proportion.
  for (double narrow = 1; narrow >= kNarrowest; narrow -= 0.02) {
    const cairo_matrix_t letters{narrow * size, 0, 0, size, 0, 0};
    cairo_set_font_matrix(context, &letters);
    if (WidthOf(context, text) <= width) break;
  }
  cairo_move_to(context, x, y);
  cairo_show_text(context, Fitted(context, text, width).c_str());
}

Picture Paper::Done() {
  return FromSurface(surface_.get());
}

void Caption(const std::string& text, Picture* picture) {
  // Only the rows that are written on take the way to cairo and back.
  const double size = std::clamp(picture->height / 42.0, 9.0, 24.0), margin = 0.6 * size;
  const int rows = std::min(picture->height, static_cast<int>(2.5 * size));
  const ptrdiff_t strip_begin = static_cast<ptrdiff_t>(3) * picture->width * (picture->height - rows);
  Picture strip{picture->width, rows, {picture->rgb.begin() + strip_begin, picture->rgb.end()}};
  const auto surface = ToSurface(strip);
  const std::unique_ptr<cairo_t, void (*)(cairo_t*)> context(cairo_create(surface.get()), cairo_destroy);
  SetFont(context.get(), size, false);
  cairo_move_to(context.get(), margin, rows - margin);
  cairo_text_path(context.get(), Fitted(context.get(), text, picture->width - 2 * margin).c_str());
  cairo_set_line_width(context.get(), 0.25 * size);
  cairo_set_line_join(context.get(), CAIRO_LINE_JOIN_ROUND);
  cairo_set_source_rgb(context.get(), 0.08, 0.08, 0.08);
  cairo_stroke_preserve(context.get());
  cairo_set_source_rgb(context.get(), 1, 1, 1);
  cairo_fill(context.get());
  strip = FromSurface(surface.get());
  std::copy(strip.rgb.begin(), strip.rgb.end(), picture->rgb.begin() + strip_begin);
}

}  // namespace dryrig
