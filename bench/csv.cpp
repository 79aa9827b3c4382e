#include "bench/csv.h"

#include <fmt/format.h>

#include <cmath>

#include "bench/text_table.h"

namespace dryrig {

void CsvLine::Text(std::string_view text) {
  if (!first_) line_ += ',';
  first_ = false;
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) {
    line_ += text;
    return;
  }
  line_ += '"';
  for (const char c : text) {
    if (c == '"') line_ += '"';
    line_ += c;
  }
  line_ += '"';
}

void CsvLine::Number(std::optional<double> value) {
  Text(value && !std::isnan(*value) ? ForMachines(*value) : "");
}

std::string HeaderWithUnit(std::string_view name, std::string_view unit) {
  return unit.empty() ? std::string(name) : fmt::format("{} [{}]", name, unit);
}

}  // namespace dryrig
