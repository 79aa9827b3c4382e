#include "bench/text_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <sstream>

namespace dryrig {

size_t DisplayWidth(const std::string& text) {
  return static_cast<size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

void TextTable::Row(std::vector<std::string> cells) {
  cells.resize(columns_.size());
  rows_.push_back(std::move(cells));
}

void TextTable::Rule() {
  rows_.emplace_back();
}

std::string TextTable::ToString() const {
  std::vector<size_t> widths(columns_.size());
  for (const auto& row : rows_) {
    for (size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], DisplayWidth(row[i]));
  }
  std::string out;
  for (const auto& row : rows_) {
    std::string line;
    for (size_t i = 0; i < columns_.size(); ++i) {
      if (i > 0) line += "  ";
      if (row.empty()) {
        line += std::string(widths[i], '-');
        continue;
      }
      const std::string gap(widths[i] - DisplayWidth(row[i]), ' ');
      line += columns_[i] == Align::kLeft ? row[i] + gap : gap + row[i];
    }
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + "\n";
  }
  return out;
}

std::string ForPeople(const std::optional<double>& value) {
  if (!value) return "-";
  const double magnitude = std::abs(*value);
  if (magnitude < 1e6 && std::floor(magnitude) == magnitude) return fmt::format("{}", *value + 0.0);  // a count
  if (magnitude < 0.0005) return fmt::format("{:.1e}", *value);
  return fmt::format("{:.{}f}", *value, magnitude >= 1000 ? 0 : magnitude >= 100 ? 1 : magnitude >= 10 ? 2 : 3);
}

std::string ForMachines(double value) {
  return fmt::format("{}", value + 0.0);  // no negative zero
}

std::string Wrap(const std::string& text, size_t width, size_t indent) {
  std::istringstream words(text);
  std::string out, line, word;
  while (words >> word) {
    if (!line.empty() && DisplayWidth(line) + 1 + DisplayWidth(word) > width) {
      out += line + "\n" + std::string(indent, ' ');
      line.clear();
    }
    line += (line.empty() ? "" : " ") + word;
  }
  return out + line;
}

}  // namespace dryrig
