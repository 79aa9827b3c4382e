#include <array>
#include <charconv>
#include <optional>

#include "scenes/captions.h"
#include "scenes/yaml_tree.h"

namespace dryrig {

namespace {

constexpr std::string_view kReplacement = "\xEF\xBF\xBD";  // U+FFFD

std::string Encoded(uint32_t code) {
  if (code == 0 || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) return std::string(kReplacement);
  std::string out;
  const auto add = [&](uint32_t byte) { out += static_cast<char>(byte); };
  if (code < 0x80) {
    add(code);
  } else if (code < 0x800) {
    add(0xC0 | code >> 6), add(0x80 | (code & 0x3F));
  } else if (code < 0x10000) {
    add(0xE0 | code >> 12), add(0x80 | (code >> 6 & 0x3F)), add(0x80 | (code & 0x3F));
  } else {
    add(0xF0 | code >> 18), add(0x80 | (code >> 12 & 0x3F)), add(0x80 | (code >> 6 & 0x3F)), add(0x80 | (code & 0x3F));
  }
  return out;
}

struct Reference {
  std::string_view name, text;
};
// Those that the WebVTT text names; lrm and rlm only tell a typesetter which way to write.
constexpr std::array kReferences{Reference{"amp", "&"}, Reference{"lt", "<"},   Reference{"gt", ">"},    Reference{"lrm", ""},
                                 Reference{"rlm", ""},  Reference{"nbsp", " "}, Reference{"quot", "\""}, Reference{"apos", "'"}};

/// What `&...;` at the front stands for, and how long it is; none: the character stands for itself.
std::optional<std::pair<std::string, size_t>> Resolve(std::string_view text) {
  const size_t end = text.substr(0, 12).find(';');
  if (end == std::string_view::npos || end < 2) return std::nullopt;
  std::string_view name = text.substr(1, end - 1);
  if (name[0] == '#') {
    name.remove_prefix(1);
    const bool hex = name.starts_with('x') || name.starts_with('X');
    if (hex) name.remove_prefix(1);
    uint32_t code = 0;
    const auto parsed = std::from_chars(name.data(), name.data() + name.size(), code, hex ? 16 : 10);
    if (name.empty() || parsed.ec != std::errc() || parsed.ptr != name.data() + name.size()) return std::nullopt;
    return std::pair(Encoded(code), end + 1);
  }
  for (const Reference& reference : kReferences) {
    if (reference.name == name) return std::pair(std::string(reference.text), end + 1);
  }
  return std::nullopt;
}

/// `{\an8}` and the like, which SubRip files carry from other formats.
size_t OverrideLength(std::string_view text) {
  if (!text.starts_with("{\\")) return 0;
  const size_t end = text.find('}');
  return end == std::string_view::npos ? 0 : end + 1;
}

}  // namespace

std::string CleanText(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  std::string out;
  out.reserve(text.size());
  for (size_t i = 0; i < text.size();) {
    const size_t length = CharacterLength(text, i);
    const char c = text[i];
    if (c == '\r') {
      out += '\n';
      i += i + 1 < text.size() && text[i + 1] == '\n' ? 2 : 1;
    } else if (length == 0 || c == '\0') {
      out += kReplacement;
      ++i;
    } else {
      out += text.substr(i, length);
      i += length;
    }
  }
  return out;
}

std::string CueText(std::string_view raw) {
  std::string out;
  bool blank = false;
  const auto add = [&](std::string_view piece) {
    for (const char c : piece) {
      const auto byte = static_cast<unsigned char>(c);
      if (byte <= 0x20 || byte == 0x7F) {
        blank = !out.empty();
        continue;
      }
      if (blank) out += ' ';
      blank = false;
      out += c;
    }
  };
  for (size_t i = 0; i < raw.size();) {
    const std::string_view rest = raw.substr(i);
    if (rest[0] == '<') {  // a tag, to its end or the text's
      const size_t end = rest.find('>');
      i += end == std::string_view::npos ? rest.size() : end + 1;
    } else if (const size_t length = OverrideLength(rest); length > 0) {
      i += length;
    } else if (const auto resolved = rest[0] == '&' ? Resolve(rest) : std::nullopt) {
      add(resolved->first);
      i += resolved->second;
    } else {
      add(rest.substr(0, 1));
      ++i;
    }
  }
  return out;
}

}  // namespace dryrig
