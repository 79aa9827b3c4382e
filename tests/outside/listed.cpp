#include "tests/outside/listed.h"

#include <fmt/format.h>

#include <fstream>
#include <map>
#include <utility>
#include <vector>

namespace dryrig::outside {

namespace {

struct Row {
  std::string check, expected;
  double value = 0, used = -1;
};

bool IsComment(const std::string& line) {
  const size_t at = line.find_first_not_of(" \t");
  return at != std::string::npos && line.compare(at, 2, "//") == 0;
}

/// The comment right over a test; where there is none, the first one in it. Before it the file's own.
std::string SourceOf(const char* file, int test_line) {
  std::ifstream in(file);
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  const auto block = [&](size_t first) {
    std::string text;
    for (size_t i = first; i < lines.size() && IsComment(lines[i]); ++i) {
      const size_t word = lines[i].find_first_not_of(" \t/-");
      if (word == std::string::npos) continue;
      if (!text.empty()) text += ' ';
      text.append(lines[i], word);
    }
    return text;
  };
  const auto at = static_cast<size_t>(test_line - 1);
  if (at >= lines.size()) return "";
  std::string text = block(0);
  size_t first = at;
  while (first > 0 && IsComment(lines[first - 1])) --first;
  for (size_t i = at; first == at && i < lines.size() && !lines[i].starts_with("}"); ++i) {
    if (IsComment(lines[i])) first = i;
  }
  if (!text.empty()) text += "; ";
  return text + block(first);
}

class Lister : public ::testing::EmptyTestEventListener {
 public:
  static Lister& Shared() {
    static auto* lister = [] {
      auto* made = new Lister;  // the listeners own it
      ::testing::UnitTest::GetInstance()->listeners().Append(made);
      return made;
    }();
    return *lister;
  }
  void Add(Row row, std::pair<std::string, int> place) {
    Row& kept = rows_[std::move(place)];
    if (row.used >= kept.used) kept = std::move(row);
  }

 private:
  void OnTestStart(const ::testing::TestInfo&) override { rows_.clear(); }
  void OnTestEnd(const ::testing::TestInfo& info) override {
    if (rows_.empty()) return;
    fmt::print("  {:<16} {:<30} {}\n", "value", "expected", "check");
    for (const auto& [place, row] : rows_) fmt::print("  {:<16} {:<30} {}\n", Text(row.value), row.expected, row.check);
    fmt::print("  source: {}\n", SourceOf(info.file(), info.line()));
  }

  std::map<std::pair<std::string, int>, Row> rows_;
};

const Lister& registered = Lister::Shared();

}  // namespace

void List(const char* check, double value, const std::string& expected, double used, const char* file, int line) {
  Lister::Shared().Add({check, expected, value, used}, {file, line});
}

std::string Text(double value) {
  return fmt::format("{:.8g}", value);
}

std::string Allowed(double wanted, double by) {
  return fmt::format("{} ± {:.3g}", Text(wanted), by);
}

}  // namespace dryrig::outside
