#include "scenes/error.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

namespace dryrig {

namespace {

/// Insertions, deletions, replacements and swaps of neighbours (optimal string alignment).
size_t EditDistance(std::string_view a, std::string_view b) {
  std::vector<size_t> before(b.size() + 1), last(b.size() + 1), row(b.size() + 1);
  std::iota(row.begin(), row.end(), size_t{0});
  for (size_t i = 1; i <= a.size(); ++i) {
    before.swap(last);
    last.swap(row);
    row[0] = i;
    for (size_t j = 1; j <= b.size(); ++j) {
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) row[j] = std::min(row[j], before[j - 2] + 1);
    }
  }
  return row[b.size()];
}

}  // namespace

std::string ToString(const SourcePos& pos) {
  if (pos.line == 0) return pos.file;
  if (pos.column == 0) return fmt::format("{}:{}", pos.file, pos.line);
  return fmt::format("{}:{}:{}", pos.file, pos.line, pos.column);
}

InputError::InputError(const SourcePos& pos, const std::string& message)
    : std::runtime_error(pos.file.empty() ? message : ToString(pos) + ": " + message) {}

std::string Suggest(std::string_view word, const std::vector<std::string>& candidates) {
  if (candidates.empty()) return "";
  const std::string_view head = word.substr(0, 64);  // a nearest name for a megabyte of garbage is of no use
  const std::string* nearest = nullptr;
  size_t least = std::max<size_t>(1, head.size() / 3) + 1;
  for (const std::string& candidate : candidates) {
    const size_t distance = EditDistance(head, candidate);
    if (distance < least) {
      least = distance;
      nearest = &candidate;
    }
  }
  if (nearest != nullptr) return fmt::format("; did you mean \"{}\"?", *nearest);
  return fmt::format("; known: {}", fmt::join(candidates, ", "));
}

}  // namespace dryrig
