#include "scenes/logged_lesson.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace dryrig {

namespace {

std::string TextInQuotes(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

/// The lines of the key `props` as they stand; empty where there are none.
std::string PropLines(const Lesson& base) {
  if (base.props.empty()) return "";
  std::string out;
  bool inside = false;
  for (size_t at = 0; at < base.text.size();) {
    const size_t end = std::min(base.text.find('\n', at), base.text.size());
    const std::string line = base.text.substr(at, end - at);
    at = end + 1;
    const bool key = !line.empty() && std::isalpha(static_cast<unsigned char>(line[0]));
    if (key) inside = line.starts_with("props:");
    if (inside) out += line + "\n";
  }
  if (out.empty()) throw InputError(fmt::format("lesson {}: its props do not stand under a line `props:`", base.name));
  return out;
}

std::string IntentLine(const RecordedIntent& intent) {
  std::string subjects;
  for (const Subject& subject : intent.shot.subjects)
    subjects += fmt::format("{}\"{}\"", subjects.empty() ? "" : ", ", ToString(subject));
  return fmt::format(
      "  - {{from_s: {:.4f}, to_s: {:.4f}, subject: [{}], size: "
      "{}, angle: {}, composition: {}}}\n",
      intent.from_s, intent.to_s.value_or(intent.from_s), subjects, ToString(intent.shot.size), ToString(intent.shot.angle),
      ToString(intent.shot.composition));
}

}  // namespace

std::string LoggedLessonText(const Lesson& base, const std::string& bench, const std::string& motion, const std::string& captions,
                             const RecordedLesson& parts) {
  std::string out =
      fmt::format("dryrig: lesson/1\ntitle: {}\ncraft: {}\nhard_for: {}\nbench: {}\n", TextInQuotes(base.title + ", as recorded"),
                  TextInQuotes(base.craft), TextInQuotes(base.hard_for), TextInQuotes(bench));
  out += PropLines(base);
  out += fmt::format("recorded:\n  motion: {}\n", TextInQuotes(motion));
  if (!captions.empty()) out += fmt::format("  captions: {}\n", TextInQuotes(captions));
  out += fmt::format("  place: measured\n  start_s: {:.9f}\n  length_s: {:.9f}\n", parts.start_s, parts.length_s - 1e-8);
  if (!parts.carried.empty()) out += "  carried:\n";
  for (const RecordedCarry& carry : parts.carried) {
    const std::string to =
        carry.to_m ? fmt::format(", to_mm: [{:.1f}, {:.1f}]", 1000 * carry.to_m->x(), 1000 * carry.to_m->y()) : "";
    out += fmt::format("    - {{prop: {}, hand: {}, from_s: {:.4f}, to_s: {:.4f}{}}}\n",
                       TextInQuotes(base.props[static_cast<size_t>(carry.prop)].name), carry.side == 0 ? "left" : "right",
                       carry.from_s, carry.to_s, to);
  }
  if (!parts.in_use.empty()) out += "  hands_in_use:\n";
  for (const RecordedUse& use : parts.in_use) {
    out += fmt::format("    - {{hands: {}, from_s: {:.4f}, to_s: {:.4f}}}\n",
                       use.hands[0] && use.hands[1] ? "both"
                       : use.hands[0]               ? "left"
                                                    : "right",
                       use.from_s, use.to_s);
  }
  if (!parts.intents.empty()) out += "intents:\n";
  for (const RecordedIntent& intent : parts.intents) out += IntentLine(intent);
  return out;
}

}  // namespace dryrig
