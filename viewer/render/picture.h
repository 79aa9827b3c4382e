#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace dryrig {

/// An RGB picture, 8 bits a channel, rows from the top.
struct Picture {
  int width = 0, height = 0;
  std::vector<uint8_t> rgb;
};

/// Whole or not at all. @throws RunError if the file cannot be written.
void WritePng(const Picture& picture, const std::filesystem::path& file);

/// Writes a line of small letters along the lower edge, legible on any picture.
void Caption(const std::string& text, Picture* picture);

}  // namespace dryrig
