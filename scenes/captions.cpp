#include "scenes/captions.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <optional>

#include "scenes/error.h"
#include "scenes/yaml_tree.h"

namespace dryrig {

namespace {

constexpr size_t kMostBytes = size_t{16} << 20;
constexpr size_t kMostCues = 20'000;
constexpr size_t kMostNotes = 20;
constexpr size_t kMostText = 2000;  // bytes of one sentence; nobody says more in one

bool IsDigit(char c) {
  return c >= '0' && c <= '9';
}
bool IsBlank(char c) {
  return c == ' ' || c == '\t' || c == '\f' || c == '\n';
}

/// Reads from the front of a line.
class LineScanner {
 public:
  explicit LineScanner(std::string_view line) : rest_(line) {}
  void SkipBlanks() {
    while (!rest_.empty() && IsBlank(rest_[0])) rest_.remove_prefix(1);
  }
  bool Take(std::string_view piece) {
    if (!rest_.starts_with(piece)) return false;
    rest_.remove_prefix(piece.size());
    return true;
  }
  std::string_view Digits() {
    size_t n = 0;
    while (n < rest_.size() && IsDigit(rest_[n])) ++n;
    const std::string_view digits = rest_.substr(0, n);
    rest_.remove_prefix(n);
    return digits;
  }
  char Next() const { return rest_.empty() ? '\0' : rest_[0]; }

 private:
  std::string_view rest_;
};

double ToNumber(std::string_view digits) {
  double value = 0;
  for (const char c : digits.substr(0, 15)) value = 10 * value + (c - '0');
  return value;
}

/// "Collect a WebVTT timestamp" of the W3C text. SubRip's differs: a comma may stand for the point, and the parts may be short.
std::optional<double> TakeTime(LineScanner* in, bool subrip) {
  const std::string_view first = in->Digits();
  if (first.empty() || first.size() > 9) return std::nullopt;
  bool hours = first.size() != 2 || ToNumber(first) > 59;
  const auto take_part = [&](double* value) {
    if (!in->Take(":")) return false;
    const std::string_view digits = in->Digits();
    *value = ToNumber(digits);
    return digits.size() == 2 || (subrip && digits.size() == 1);
  };
  double a = ToNumber(first), b = 0, c = 0;
  if (!take_part(&b)) return std::nullopt;
  if (hours || in->Next() == ':') {
    if (!take_part(&c)) return std::nullopt;
  } else {
    c = b;
    b = a;
    a = 0;
  }
  if (!in->Take(".") && !(subrip && in->Take(","))) return std::nullopt;
  const std::string_view thousandths = in->Digits();
  if (thousandths.size() != 3 && !(subrip && !thousandths.empty() && thousandths.size() < 3)) return std::nullopt;
  if (b > 59 || c > 59) return std::nullopt;
  return a * 3600 + b * 60 + c + ToNumber(thousandths) / 1000;
}

struct Span {
  double start_s, end_s;
};
std::optional<Span> TakeSpan(std::string_view line, bool subrip) {
  LineScanner in(line);
  in.SkipBlanks();
  const auto start = TakeTime(&in, subrip);
  if (!start) return std::nullopt;
  in.SkipBlanks();
  if (!in.Take("-->")) return std::nullopt;
  in.SkipBlanks();
  const auto end = TakeTime(&in, subrip);
  if (!end) return std::nullopt;
  return Span{*start, *end};
}

/// Gathers cues, and says of what it turns away why.
class Collector {
 public:
  Collector(std::string format, const std::string& file_name) : file_name_(file_name) { out_.format = std::move(format); }

  void Note(int line, std::string_view why) {
    ++noted_;
    if (out_.notes.size() < kMostNotes) out_.notes.push_back(ToString(SourcePos{file_name_, line}) + ": " + std::string(why));
  }
  void Add(int line, const Span& span, std::string_view raw) {
    if (!(span.end_s > span.start_s)) return Note(line, "a cue that ends no later than it begins: left out");
    std::string text = CueText(raw);
    if (text.empty()) return Note(line, "a cue without words: left out");
    if (text.size() > kMostText)
      return Note(line,
                  fmt::format("a cue of {} bytes, more than the {} that anybody says at once: left out", text.size(), kMostText));
    if (out_.cues.size() >= kMostCues) {
      throw InputError({file_name_, line}, fmt::format("more than {} cues; no lesson has so many", kMostCues));
    }
    out_.cues.push_back({span.start_s, span.end_s, std::move(text)});
  }
  Captions Finish() {
    if (noted_ > out_.notes.size())
      out_.notes.push_back(fmt::format("{}: and {} more such", file_name_, noted_ - out_.notes.size()));
    std::stable_sort(out_.cues.begin(), out_.cues.end(),
                     [](const CaptionCue& a, const CaptionCue& b) { return a.start_s < b.start_s; });
    return std::move(out_);
  }

 private:
  const std::string& file_name_;
  Captions out_;
  size_t noted_ = 0;
};

/// Lines of a text whose ends are LF.
class Lines {
 public:
  explicit Lines(std::string_view text) : text_(text) {}
  bool Done() const { return at_ > text_.size() || (at_ == text_.size() && at_ > 0 && text_[at_ - 1] == '\n') || text_.empty(); }
  std::string_view Peek() const { return text_.substr(at_, std::min(text_.find('\n', at_), text_.size()) - at_); }
  std::string_view Take() {
    const std::string_view line = Peek();
    at_ += line.size() + 1;
    ++line_;
    return line;
  }
  int line() const { return line_; }  // of the last one taken, from 1

 private:
  std::string_view text_;
  size_t at_ = 0;
  int line_ = 0;
};

bool HasArrow(std::string_view line) {
  return line.find("-->") != std::string_view::npos;
}

void RequireSize(std::string_view text, const std::string& file_name) {
  if (text.size() <= kMostBytes) return;
  throw InputError({file_name},
                   fmt::format("{} bytes, more than the {} allowed; is it the right file?", text.size(), kMostBytes));
}

}  // namespace

Captions ParseWebVtt(std::string_view raw_text, const std::string& file_name) {
  RequireSize(raw_text, file_name);
  const std::string text = CleanText(raw_text);
  Lines lines(text);
  const std::string_view first = text.empty() ? std::string_view() : lines.Take();
  if (!first.starts_with("WEBVTT") || (first.size() > 6 && first[6] != ' ' && first[6] != '\t')) {
    throw InputError({file_name, 1, 1},
                     fmt::format("expected WEBVTT, found \"{}\"; a WebVTT file begins with that word", Quoted(first)));
  }
  Collector out("WebVTT", file_name);
  bool in_header = true;
  while (!lines.Done()) {
    // "Collect a WebVTT block".
    std::optional<Span> span;
    std::string body;
    int count = 0, cue_line = 0;
    bool seen_arrow = false;
    while (!lines.Done()) {
      const std::string_view line = lines.Peek();
      if (HasArrow(line)) {
        if (in_header || (count > 0 && (count != 1 || seen_arrow))) break;  // belongs to a block of its own
        lines.Take();
        ++count;
        seen_arrow = true;
        cue_line = lines.line();
        span = TakeSpan(line, false);
        if (!span) out.Note(cue_line, fmt::format("no cue timings: \"{}\"; write 00:01:02.500 --> 00:01:04.000", Quoted(line)));
        body.clear();
        continue;
      }
      lines.Take();
      ++count;
      if (line.empty()) break;
      if (!body.empty()) body += '\n';
      body += line;
    }
    in_header = false;
    if (span) out.Add(cue_line, *span, body);
  }
  return out.Finish();
}

Captions ParseSrt(std::string_view raw_text, const std::string& file_name) {
  RequireSize(raw_text, file_name);
  const std::string text = CleanText(raw_text);
  Lines lines(text);
  Collector out("SRT", file_name);
  bool any = false;
  while (!lines.Done()) {
    const std::string_view line = lines.Take();
    if (!HasArrow(line)) continue;  // numbers, blank lines, words of a cue that was turned away
    any = true;
    const int cue_line = lines.line();
    const auto span = TakeSpan(line, true);
    if (!span) {
      out.Note(cue_line, fmt::format("no cue timings: \"{}\"; write 00:01:02,500 --> 00:01:04,000", Quoted(line)));
      continue;
    }
    std::string body;
    while (!lines.Done() && !lines.Peek().empty() && !HasArrow(lines.Peek())) {
      if (!body.empty()) body += '\n';
      body += lines.Take();
    }
    // Without a blank line between, the number of the next cue is its line's neighbour.
    if (!lines.Done() && HasArrow(lines.Peek())) {
      const size_t last = body.rfind('\n');
      const std::string_view tail = std::string_view(body).substr(last == std::string::npos ? 0 : last + 1);
      if (!tail.empty() && std::all_of(tail.begin(), tail.end(), IsDigit)) body.resize(last == std::string::npos ? 0 : last);
    }
    out.Add(cue_line, *span, body);
  }
  if (!any) throw InputError({file_name}, "no line with --> in it; is this a caption file (SRT or WebVTT)?");
  return out.Finish();
}

Captions ParseCaptions(std::string_view text, const std::string& file_name) {
  std::string_view start = text;
  if (start.starts_with("\xEF\xBB\xBF")) start.remove_prefix(3);
  return start.starts_with("WEBVTT") || file_name.ends_with(".vtt") ? ParseWebVtt(text, file_name) : ParseSrt(text, file_name);
}

}  // namespace dryrig
