#include "viewer/render/picture.h"

#include <fmt/format.h>

#include "scenes/error.h"
#include "viewer/render/ink.h"

namespace dryrig {

void WritePng(const Picture& picture, const std::filesystem::path& file) {
  const std::filesystem::path beside = file.string() + ".part";
  const cairo_status_t status = cairo_surface_write_to_png(ToSurface(picture).get(), beside.c_str());
  std::error_code error;
  if (status == CAIRO_STATUS_SUCCESS) std::filesystem::rename(beside, file, error);
  if (status == CAIRO_STATUS_SUCCESS && !error) return;
  const std::string reason = error ? error.message() : cairo_status_to_string(status);
  std::filesystem::remove(beside, error);
  throw RunError(fmt::format("{} could not be written: {}", file.string(), reason));
}

}  // namespace dryrig
