#include "scenes/word_reader.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "scenes/yaml_tree.h"

namespace dryrig {

namespace {

bool IsBlank(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\v' || c == '\f';
}

std::string Found(std::string_view word) {
  return word.empty() ? "nothing" : fmt::format("\"{}\"", Quoted(word));
}

}  // namespace

void WordReader::SkipBlanks(bool over_lines) {
  for (; at_ < text_.size(); ++at_) {
    if (text_[at_] == '\n') {
      if (!over_lines) break;
      ++line_;
    } else if (!IsBlank(text_[at_])) {
      break;
    }
  }
  word_at_ = at_;
}

std::string_view WordReader::NextInLine() {
  SkipBlanks(false);
  while (at_ < text_.size() && text_[at_] != '\n' && !IsBlank(text_[at_])) ++at_;
  return text_.substr(word_at_, at_ - word_at_);
}

std::string_view WordReader::Next() {
  SkipBlanks(true);
  return NextInLine();
}

std::string_view WordReader::Peek() {
  const WordReader kept = *this;
  const std::string_view word = Next();
  at_ = kept.at_;
  line_ = kept.line_;
  return word;
}

std::string_view WordReader::RestOfLine() {
  SkipBlanks(false);
  const size_t end = std::min(text_.find('\n', at_), text_.size());
  std::string_view rest = text_.substr(at_, end - at_);
  at_ = end;
  while (!rest.empty() && IsBlank(rest.back())) rest.remove_suffix(1);
  return rest;
}

bool WordReader::NextLine() {
  at_ = std::min(text_.find('\n', at_), text_.size());
  SkipBlanks(true);
  return at_ < text_.size();
}

void WordReader::Fail(std::string_view message) const {
  const size_t before = word_at_ == 0 ? std::string_view::npos : text_.rfind('\n', word_at_ - 1);
  const size_t column = before == std::string_view::npos ? word_at_ + 1 : word_at_ - before;
  throw InputError({file_name_, line_, static_cast<int>(std::min<size_t>(column, 1'000'000))}, std::string(message));
}

double WordReader::Number(std::string_view word, std::string_view what) const {
  double value = 0;
  const char* first = word.data() + (word.size() > 1 && word[0] == '+' && word[1] != '-' ? 1 : 0);
  const auto [end, error] = std::from_chars(first, word.data() + word.size(), value);
  if (error == std::errc() && end == word.data() + word.size() && std::isfinite(value)) return value;
  if (error == std::errc() && end == word.data() + word.size()) {
    Fail(fmt::format("expected {}, found {}, which is not finite; cut or mend what comes from lost tracking", what, Found(word)));
  }
  const bool comma = word.find(',') != std::string_view::npos;
  Fail(fmt::format("expected {}, found {}{}", what, Found(word),
                   comma          ? "; the decimal mark is a point"
                   : word.empty() ? "; is the file cut short?"
                                  : "; write a number there"));
}

int WordReader::Whole(std::string_view word, std::string_view what, int lo, int hi) const {
  const double value = Number(word, what);
  if (value != std::floor(value) || value < lo || value > hi) {
    Fail(fmt::format("expected {}, found {}; give a whole number from {} to {}", what, Found(word), lo, hi));
  }
  return static_cast<int>(value);
}

}  // namespace dryrig
