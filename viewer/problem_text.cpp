#include "viewer/problem_text.h"

#include <fstream>
#include <regex>

namespace dryrig {

namespace {

constexpr int kAround = 2;             // lines before and after
constexpr size_t kLongestLine = 240;   // of a file that may hold anything
constexpr int kFarthestLine = 100000;  // farther in, the message alone must do

std::vector<ProblemText::Line> LinesAround(const std::string& file, int line) {
  std::vector<ProblemText::Line> out;
  if (line < 1 || line > kFarthestLine) return out;
  std::ifstream in(file, std::ios::binary);
  std::string text;
  for (int number = 1; number <= line + kAround && std::getline(in, text); ++number) {
    if (number < line - kAround) continue;
    if (text.size() > kLongestLine) text.resize(kLongestLine);
    for (char& c : text) {
      if (static_cast<unsigned char>(c) < 0x20) c = ' ';
    }
    out.push_back({number, text, number == line});
  }
  if (out.empty() || out.back().number < line) out.clear();
  return out;
}

}  // namespace

ProblemText ReadProblem(const std::string& message) {
  // A file's name begins the message; nine digits keep the numbers inside an int.
  static const std::regex place(R"(^([^\n]+?):(\d{1,9})(?::(\d{1,9}))?: ([^]*)$)");
  ProblemText out;
  std::smatch match;
  if (message.size() > 20000 || !std::regex_match(message, match, place)) {
    out.message = message;
    return out;
  }
  out.pos = {match[1], std::stoi(match[2]), match[3].matched ? std::stoi(match[3]) : 0};
  out.message = match[4];
  out.lines = LinesAround(out.pos.file, out.pos.line);
  return out;
}

}  // namespace dryrig
