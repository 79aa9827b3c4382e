#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace dryrig {

/// One line of a CSV file (RFC 4180, lines ended by \n). Numbers read back to the same bits; none and NaN are empty.
class CsvLine {
 public:
  void Text(std::string_view text);
  void Number(std::optional<double> value);
  std::string Done() { return line_ + "\n"; }

 private:
  std::string line_;
  bool first_ = true;
};

/// `closest_approach [m]`; the name alone where there is no unit.
std::string HeaderWithUnit(std::string_view name, std::string_view unit);

}  // namespace dryrig
