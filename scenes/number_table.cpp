#include "scenes/number_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr size_t kMostBytes = size_t{192} << 20;

std::string_view Bare(std::string_view text) {
  const char* const blanks = " \t\r";
  const size_t first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  text = text.substr(first, text.find_last_not_of(blanks) - first + 1);
  if (text.size() >= 2 && text.front() == '"' && text.back() == '"') text = text.substr(1, text.size() - 2);
  return text;
}

std::vector<std::string_view> FieldsOf(std::string_view line, char separator) {
  std::vector<std::string_view> out;
  for (;;) {
    const size_t end = line.find(separator);
    out.push_back(Bare(line.substr(0, end)));
    if (end == std::string_view::npos) return out;
    line.remove_prefix(end + 1);
  }
}

bool IsNan(std::string_view field) {
  return field.empty() || field == "nan" || field == "NaN" || field == "NAN";
}

}  // namespace

int NumberTable::Find(std::string_view name) const {
  const auto it = std::find(columns.begin(), columns.end(), name);
  return it == columns.end() ? -1 : static_cast<int>(it - columns.begin());
}

NumberTable ParseNumberTable(std::string_view text, const std::string& file_name) {
  if (text.size() > kMostBytes)
    throw InputError({file_name}, fmt::format("{} bytes; at most {} are read", text.size(), kMostBytes));
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  NumberTable out;
  char separator = ',';
  for (int line = 1; !text.empty(); ++line) {
    const size_t end = text.find('\n');
    const bool ended = end != std::string_view::npos;
    const std::string_view content = Bare(text.substr(0, end));
    text.remove_prefix(ended ? end + 1 : text.size());
    if (content.empty() || content[0] == '#') continue;
    const auto fail = [&](const std::string& message) { throw InputError({file_name, line}, message); };
    if (out.columns.empty()) {
      for (const char c : {';', '\t'}) {
        if (content.find(',') == std::string_view::npos && content.find(c) != std::string_view::npos) separator = c;
      }
      for (const std::string_view name : FieldsOf(content, separator)) {
        if (!name.empty() && out.Find(name) >= 0) fail(fmt::format("the column {} stands twice; keep one", name));
        out.columns.emplace_back(name.substr(0, 200));
      }
      continue;
    }
    const std::vector<std::string_view> fields = FieldsOf(content, separator);
    if (fields.size() != out.columns.size()) {
      if (fields.size() < out.columns.size() && !ended) {
        out.cut_short = true;
        break;
      }
      fail(
          fmt::format("{} fields, the header names {}; is the line cut short, "
                      "or the decimal mark no point?",
                      fields.size(), out.columns.size()));
    }
    std::vector<double> row;
    for (size_t i = 0; i < fields.size(); ++i) {
      double value = std::numeric_limits<double>::quiet_NaN();
      if (!IsNan(fields[i])) {
        const auto parsed = std::from_chars(fields[i].data(), fields[i].data() + fields[i].size(), value);
        if (parsed.ec != std::errc() || parsed.ptr != fields[i].data() + fields[i].size() || !std::isfinite(value)) {
          fail(fmt::format("{}: expected a number, found \"{}\"{}", out.columns[i], fields[i].substr(0, 40),
                           fields[i].find(',') != std::string_view::npos ? "; the decimal mark is a point" : ""));
        }
      }
      row.push_back(value);
    }
    out.rows.push_back(std::move(row));
    out.lines.push_back(line);
  }
  if (out.columns.empty()) throw InputError({file_name}, "no header line that names the columns; is the file empty?");
  return out;
}

}  // namespace dryrig
