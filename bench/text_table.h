#pragma once

#include <optional>
#include <string>
#include <vector>

namespace dryrig {

/// A table for people, columns parted by two spaces. Text is UTF-8; a code point counts as one place.
class TextTable {
 public:
  enum class Align { kLeft, kRight };
  explicit TextTable(std::vector<Align> columns) : columns_(std::move(columns)) {}

  void Row(std::vector<std::string> cells);
  /// A rule under all that came before.
  void Rule();
  std::string ToString() const;

 private:
  std::vector<Align> columns_;
  std::vector<std::vector<std::string>> rows_;  // an empty row is a rule
};

/// Places that a UTF-8 text takes.
size_t DisplayWidth(const std::string& text);
/// A number for people, about four digits; `-` for none.
std::string ForPeople(const std::optional<double>& value);
/// A number for machines: the shortest text that reads back to the same bits.
std::string ForMachines(double value);
/// Breaks `text` at blanks into lines of at most `width` places, each after `indent` blanks but the first.
std::string Wrap(const std::string& text, size_t width, size_t indent);

}  // namespace dryrig
