#pragma once

#include <string>
#include <string_view>

#include "scenes/error.h"

namespace dryrig {

/// Takes a text apart into words between blanks, and knows where each stood. The text must outlive it.
class WordReader {
 public:
  WordReader(std::string_view text, std::string file_name) : text_(text), file_name_(std::move(file_name)) {}

  /// The next word, on whatever line; empty at the end.
  std::string_view Next();
  std::string_view Peek();
  /// The next word of this line; empty where the line ends.
  std::string_view NextInLine();
  /// What is left of this line, without blanks at either end.
  std::string_view RestOfLine();
  /// To the first word of the next line that has one. False: there is none.
  bool NextLine();

  /// Line of the last word, from 1.
  int line() const { return line_; }
  /// @throws InputError at the last word, always.
  [[noreturn]] void Fail(std::string_view message) const;
  /// The word as a number. @throws InputError: none, not finite, with a decimal comma; `what` it should have been.
  double Number(std::string_view word, std::string_view what) const;
  int Whole(std::string_view word, std::string_view what, int lo, int hi) const;

 private:
  void SkipBlanks(bool over_lines);

  std::string_view text_;
  std::string file_name_;
  size_t at_ = 0, word_at_ = 0;
  int line_ = 1;
};

}  // namespace dryrig
