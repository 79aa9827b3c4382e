#pragma once

#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// A place in a file a person wrote. `line` 0: the format has no lines; `column` 0: the line is all that is known.
struct SourcePos {
  std::string file;
  int line = 0;
  int column = 0;
};

/// `file:line:column`, with what is unknown left out; empty where there is no file.
std::string ToString(const SourcePos& pos);

/// Bad input or usage: the user can mend it. The program exits 2.
class InputError : public std::runtime_error {
 public:
  explicit InputError(const std::string& message) : std::runtime_error(message) {}
  /// `pos: message`.
  InputError(const SourcePos& pos, const std::string& message);
};

/// Good input, but the work could not be done or compared (a take failed). The program exits 3.
class RunError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// `; did you mean "awl"?` for the candidate nearest to `word` by edit distance, or, where none is near,
/// `; known: a, b, c`. Empty when there are no candidates.
std::string Suggest(std::string_view word, const std::vector<std::string>& candidates);

}  // namespace dryrig
