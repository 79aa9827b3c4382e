#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// A CSV of numbers: comments (#), a header line of names, rows. NaN where a
/// field is empty or says NaN.
struct NumberTable {
  std::vector<std::string> columns;
  std::vector<std::vector<double>> rows;
  std::vector<int> lines;  // of each row in the file
  bool cut_short = false;  // the last line had too few fields and no line end,
                           // and was left out

  /// Index, or -1.
  int Find(std::string_view name) const;
};

/// Fields parted by commas, semicolons or tabs, as the header is. @throws
/// InputError (file:line): no header, a column that stands twice, a field that
/// is no number, a row of another length, more than 192 MiB.
NumberTable ParseNumberTable(std::string_view text, const std::string& file_name);

}  // namespace dryrig
