#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace dryrig {

/// A sentence on the recording's clock: plain text on one line, tags taken off.
struct CaptionCue {
  double start_s = 0, end_s = 0;  // start < end
  std::string text;               // UTF-8, not empty
};

struct Captions {
  std::string format;              // "WebVTT", "SRT"
  std::vector<CaptionCue> cues;    // by start
  std::vector<std::string> notes;  // what was left out and why: file:line
};

/// WebVTT as the parser of the W3C text reads it: header, notes, styles, regions, settings and cues that do not parse are
/// passed over, the latter with a note. @throws InputError where the file is none, or too large.
Captions ParseWebVtt(std::string_view text, const std::string& file_name);
/// SubRip: numbers optional, comma or point before the milliseconds.
Captions ParseSrt(std::string_view text, const std::string& file_name);
/// Either, by its first line. @throws InputError.
Captions ParseCaptions(std::string_view text, const std::string& file_name);

/// The pieces that both formats share.
/// Well-formed UTF-8 with LF line ends and no mark at the start; what is none becomes U+FFFD.
std::string CleanText(std::string_view text);
/// Tags off, character references resolved, blanks and line ends drawn together to one.
std::string CueText(std::string_view raw);

}  // namespace dryrig
