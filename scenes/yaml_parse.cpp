#include <fmt/format.h>
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <fstream>
#include <sstream>
#include <system_error>

#include "scenes/yaml_tree.h"

namespace dryrig {

namespace {

constexpr size_t kMostBytes = size_t{512} << 10;
constexpr size_t kMostValues = 100'000;
constexpr size_t kMostLevels = 16;
constexpr std::string_view kNoAnchors = "anchors (&name) and aliases (*name) are not part of this format; write the value out";

/// What yaml-cpp would swallow or guess at: other encodings and control characters.
void RequirePlainText(std::string_view text, const std::string& file_name) {
  int line = 1, column = 1;
  for (size_t i = 0; i < text.size();) {
    const size_t length = CharacterLength(text, i);
    const auto byte = static_cast<unsigned char>(text[i]);
    if (length == 0) {
      throw InputError({file_name, line, column}, fmt::format("byte 0x{:02X} is not UTF-8; save the file as UTF-8 text", byte));
    }
    if ((byte < 0x20 && byte != '\t' && byte != '\n' && byte != '\r') || byte == 0x7F) {
      throw InputError({file_name, line, column}, fmt::format("control character 0x{:02X}; take it out", byte));
    }
    column += static_cast<int>(length);
    i += length;
    if (byte == '\n') {
      ++line;
      column = 1;
    }
  }
}

/// Builds the tree and stops the parser at the first thing that our formats do not have.
class TreeBuilder : public YAML::EventHandler {
 public:
  TreeBuilder(const std::string& file_name, YamlNode::Item* root) : file_name_(file_name), root_(root) {}

  void OnDocumentStart(const YAML::Mark&) override {}
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override { Add(mark, YamlNode::Kind::kNull, "", anchor, "", false); }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override { RefuseAnchor(mark); }
  void OnAnchor(const YAML::Mark& mark, const std::string&) override { RefuseAnchor(mark); }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor, const std::string& value) override {
    Add(mark, YamlNode::Kind::kScalar, tag, anchor, value, false);
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    Add(mark, YamlNode::Kind::kList, tag, anchor, "", true);
  }
  void OnSequenceEnd() override { open_.pop_back(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor, YAML::EmitterStyle::value) override {
    Add(mark, YamlNode::Kind::kMap, tag, anchor, "", true);
  }
  void OnMapEnd() override { open_.pop_back(); }

 private:
  [[noreturn]] void Fail(const YAML::Mark& mark, const std::string& message) const {
    throw InputError({file_name_, mark.line + 1, mark.column + 1}, message);
  }
  [[noreturn]] void RefuseAnchor(const YAML::Mark& mark) const { Fail(mark, std::string(kNoAnchors)); }

  void Add(const YAML::Mark& mark, YamlNode::Kind kind, const std::string& tag, YAML::anchor_t anchor, const std::string& value,
           bool opens) {
    if (anchor != 0) RefuseAnchor(mark);
    if (!tag.empty() && tag != "?" && tag != "!") {
      Fail(mark, fmt::format("tag \"{}\" is not part of this format; leave it out", Quoted(tag)));
    }
    if (++count_ > kMostValues) Fail(mark, fmt::format("more than {} values in one file; split it", kMostValues));
    if (opens && open_.size() >= kMostLevels) {
      Fail(mark, fmt::format("nested more than {} levels deep; no format of ours needs that", kMostLevels));
    }
    YamlNode::Item item;
    item.kind = kind;
    item.quoted = tag == "!";
    item.scalar = value;
    item.line = mark.line + 1;
    item.column = mark.column + 1;
    YamlNode::Item* added = root_;
    if (open_.empty()) {
      *root_ = std::move(item);
    } else if (YamlNode::Item& parent = *open_.back();
               parent.kind == YamlNode::Kind::kMap && parent.keys.size() == parent.items.size()) {
      if (kind != YamlNode::Kind::kScalar) Fail(mark, "expected a key, a plain word before a colon; is a bracket left open?");
      for (const YamlNode::Item& key : parent.keys) {
        if (key.scalar == value) {
          Fail(mark, fmt::format("key \"{}\" is given twice, first on line {}; keep one", Quoted(value), key.line));
        }
      }
      if (parent.keys.size() >= kMostKeys) Fail(mark, fmt::format("more than {} keys in one map", kMostKeys));
      parent.keys.push_back(std::move(item));
      return;
    } else {
      if (kind == YamlNode::Kind::kNull && parent.kind == YamlNode::Kind::kMap) {  // the parser's mark may be of what follows
        item.line = parent.keys.back().line;
        item.column = parent.keys.back().column;
      }
      parent.items.push_back(std::move(item));
      added = &parent.items.back();
    }
    if (opens) open_.push_back(added);
  }

  static constexpr size_t kMostKeys = 200;
  const std::string& file_name_;
  YamlNode::Item* root_;
  std::vector<YamlNode::Item*> open_;  // stays valid: only the last item of each open list or map grows
  size_t count_ = 0;
};

}  // namespace

size_t CharacterLength(std::string_view text, size_t i) {
  const auto byte = [&](size_t k) { return k < text.size() ? static_cast<unsigned char>(text[k]) : 0u; };
  const auto follows = [&](size_t k) { return (byte(k) & 0xC0u) == 0x80u; };
  const unsigned lead = byte(i);
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return follows(i + 1) ? 2 : 0;
  if (lead >= 0xE0 && lead <= 0xEF) {
    const unsigned second = byte(i + 1);
    if ((lead == 0xE0 && second < 0xA0) || (lead == 0xED && second > 0x9F)) return 0;
    return follows(i + 1) && follows(i + 2) ? 3 : 0;
  }
  if (lead >= 0xF0 && lead <= 0xF4) {
    const unsigned second = byte(i + 1);
    if ((lead == 0xF0 && second < 0x90) || (lead == 0xF4 && second > 0x8F)) return 0;
    return follows(i + 1) && follows(i + 2) && follows(i + 3) ? 4 : 0;
  }
  return 0;
}

std::string Quoted(std::string_view text) {
  constexpr size_t kMost = 60;
  std::string out;
  for (size_t i = 0; i < text.size();) {
    const size_t length = CharacterLength(text, i);
    if (out.size() + length > kMost) return out + "...";
    const auto byte = static_cast<unsigned char>(text[i]);
    if (length == 0 || byte < 0x20 || byte == 0x7F) {
      out += '?';
      ++i;
    } else {
      out += text.substr(i, length);
      i += length;
    }
  }
  return out;
}

std::string ReadTextFile(const std::filesystem::path& file, size_t most_bytes) {
  const std::string name = file.string();
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(file, error);
  if (status.type() == std::filesystem::file_type::not_found) {
    throw InputError({name}, "no such file; check the path");
  }
  if (error) throw InputError({name}, fmt::format("cannot be read ({}); check the path", error.message()));
  if (std::filesystem::is_directory(status)) throw InputError({name}, "is a folder; name a file in it");
  if (!std::filesystem::is_regular_file(status)) throw InputError({name}, "is not a plain file; copy its content into one");
  const uintmax_t size = std::filesystem::file_size(file, error);
  if (!error && size > most_bytes) {
    throw InputError({name}, fmt::format("{} bytes, more than the {} allowed; is it the right file?", size, most_bytes));
  }
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  if (in) text << in.rdbuf();
  if (!in || (size > 0 && !text)) throw InputError({name}, "cannot be read; check its permissions");
  return std::move(text).str();
}

YamlNode YamlNode::Parse(const std::string& text, const std::string& file_name) {
  if (text.size() > kMostBytes) {
    throw InputError({file_name},
                     fmt::format("{} bytes, more than the {} allowed; is it the right file?", text.size(), kMostBytes));
  }
  RequirePlainText(text, file_name);
  auto file = std::make_shared<File>();
  file->name = file_name;
  try {
    std::istringstream in(text);
    YAML::Parser parser(in);
    TreeBuilder builder(file->name, &file->root);
    if (!parser.HandleNextDocument(builder)) throw InputError({file_name}, "is empty; a file begins with `dryrig: KIND/1`");
    Item rest;
    TreeBuilder more(file->name, &rest);
    if (parser.HandleNextDocument(more)) {
      throw InputError({file_name, std::max(rest.line, 1), rest.column}, "a second document (`---`); keep one in a file");
    }
  } catch (const YAML::Exception& e) {
    SourcePos pos{file_name};
    if (!e.mark.is_null()) pos = {file_name, e.mark.line + 1, e.mark.column + 1};
    const bool anchor = e.msg.find("anchor") != std::string::npos || e.msg.find("alias") != std::string::npos;
    throw InputError(pos,
                     fmt::format("not valid YAML: {}; {}", e.msg, anchor ? kNoAnchors : "mend the syntax here or just before"));
  }
  const Item* root = &file->root;
  return YamlNode(std::move(file), root);
}

}  // namespace dryrig
