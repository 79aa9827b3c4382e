#pragma once

#include <string>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

/// A reader's message taken apart, with the lines of the file around the place it names.
struct ProblemText {
  SourcePos pos;        // file empty: the message names none
  std::string message;  // without the place
  struct Line {
    int number = 0;
    std::string text;
    bool here = false;
  };
  std::vector<Line> lines;  // empty: the file cannot be read, or the message names no line
};
/// Understands `file:line:column: message`, `file:line: message` and plain messages.
ProblemText ReadProblem(const std::string& message);

}  // namespace dryrig
