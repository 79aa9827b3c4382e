#include "viewer/render/picture.h"

#include <cairo.h>
#include <fmt/format.h>

#include <memory>

#include "scenes/error.h"

namespace dryrig {

void WritePng(const Picture& picture, const std::filesystem::path& file) {
  const auto free_surface = [](cairo_surface_t* s) { cairo_surface_destroy(s); };
  const std::unique_ptr<cairo_surface_t, decltype(free_surface)> surface(
      cairo_image_surface_create(CAIRO_FORMAT_RGB24, picture.width, picture.height), free_surface);
  cairo_status_t status = cairo_surface_status(surface.get());
  if (status == CAIRO_STATUS_SUCCESS) {
    cairo_surface_flush(surface.get());
    unsigned char* const data = cairo_image_surface_get_data(surface.get());
    const auto stride = static_cast<size_t>(cairo_image_surface_get_stride(surface.get()));
    const auto width = static_cast<size_t>(picture.width);
    for (size_t y = 0; y < static_cast<size_t>(picture.height); ++y) {
      auto* row = reinterpret_cast<uint32_t*>(data + y * stride);
      const uint8_t* from = &picture.rgb[3 * y * width];
      for (size_t x = 0; x < width; ++x, from += 3) row[x] = uint32_t{from[0]} << 16 | uint32_t{from[1]} << 8 | from[2];
    }
    cairo_surface_mark_dirty(surface.get());
    status = cairo_surface_write_to_png(surface.get(), file.c_str());
  }
  if (status != CAIRO_STATUS_SUCCESS)
    throw RunError(fmt::format("{} could not be written: {}", file.string(), cairo_status_to_string(status)));
}

}  // namespace dryrig
