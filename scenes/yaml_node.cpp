#include "scenes/yaml_node.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>

#include "scenes/yaml_tree.h"

namespace dryrig {

namespace {

/// A unit by the ending of the key that carries it. SI value: number * times / over.
struct Unit {
  std::string_view suffix, symbol;
  double times, over;
};
constexpr std::array kUnits{
    Unit{"_octaves_per_s", "octaves/s", 1, 1},
    Unit{"_dioptres_per_s", "dioptres/s", 1, 1},
    Unit{"_deg_per_s3", "deg/s³", std::numbers::pi, 180},
    Unit{"_deg_per_s2", "deg/s²", std::numbers::pi, 180},
    Unit{"_deg_per_s", "deg/s", std::numbers::pi, 180},
    Unit{"_m_per_s3", "m/s³", 1, 1},
    Unit{"_m_per_s2", "m/s²", 1, 1},
    Unit{"_m_per_s", "m/s", 1, 1},
    Unit{"_per_s", "/s", 1, 1},
    Unit{"_mm", "mm", 1, 1000},
    Unit{"_um", "µm", 1, 1'000'000},
    Unit{"_deg", "deg", std::numbers::pi, 180},
    Unit{"_kg", "kg", 1, 1},
    Unit{"_g", "g", 1, 1000},
    Unit{"_ms", "ms", 1, 1000},
    Unit{"_hz", "Hz", 1, 1},
    Unit{"_px", "px", 1, 1},
    Unit{"_s", "s", 1, 1},
    Unit{"_m", "m", 1, 1},
};
constexpr Unit kNoUnit{"", "", 1, 1};

const Unit& UnitOf(std::string_view name) {
  name = name.substr(0, name.find(','));  // "size_mm, item 2"
  for (const Unit& unit : kUnits) {
    if (name.ends_with(unit.suffix)) return unit;
  }
  return kNoUnit;
}

std::string WithUnit(double value, const Unit& unit) {
  return unit.symbol.empty() ? fmt::format("{}", value) : fmt::format("{} {}", value, unit.symbol);
}

bool LooksLikeNaN(std::string_view text) {
  std::string word;
  for (const char c : text) {
    if (c != '.' && c != '+' && c != '-') word += static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
  }
  return word == "nan" || word == "inf" || word == "infinity";
}

}  // namespace

YamlNode::Kind YamlNode::kind() const {
  return item_->kind;
}

SourcePos YamlNode::PosOf(const Item& item) const {
  return {file_->name, item.line, item.column};
}

SourcePos YamlNode::pos() const {
  return PosOf(*item_);
}

YamlNode YamlNode::In(std::string context) const {
  YamlNode node = *this;
  node.context_ = std::move(context);
  node.name_.clear();
  return node;
}

YamlNode YamlNode::Child(const Item& item, std::string name) const {
  YamlNode node(file_, &item);
  node.context_ = context_;
  node.name_ = std::move(name);
  return node;
}

void YamlNode::Fail(std::string_view message) const {
  FailPlain(name_.empty() ? std::string(message) : fmt::format("{}: {}", name_, message));
}

void YamlNode::FailPlain(std::string_view message) const {
  throw InputError(pos(), context_.empty() ? std::string(message) : fmt::format("{}: {}", context_, message));
}

std::string YamlNode::Found() const {
  switch (item_->kind) {
    case Kind::kNull:
      return "nothing";
    case Kind::kList:
      return "a list";
    case Kind::kMap:
      return "a map";
    case Kind::kScalar:
      break;
  }
  return fmt::format("\"{}\"", Quoted(item_->scalar));
}

std::string YamlNode::Scalar(std::string_view expected) const {
  if (item_->kind != Kind::kScalar) Fail(fmt::format("expected {}, found {}", expected, Found()));
  return item_->scalar;
}

double YamlNode::Number(Limits limits) const {
  const std::string text = Scalar("a number");
  if (item_->quoted) Fail(fmt::format("expected a number, found {} in quotes; take the quotes away", Found()));
  if (LooksLikeNaN(text)) Fail(fmt::format("expected a finite number, found {}", Found()));
  const char* first = text.data() + (text.starts_with('+') && !text.starts_with("+-") ? 1 : 0);
  const char* last = text.data() + text.size();
  double value = 0;
  const auto [end, error] = std::from_chars(first, last, value);
  if (error == std::errc::result_out_of_range) Fail(fmt::format("expected a finite number, found {}", Found()));
  if (error != std::errc() || end != last) {
    const bool comma = text.find(',') != std::string::npos;
    Fail(fmt::format("expected a number, found {}{}", Found(), comma ? "; the decimal mark is a point" : ""));
  }
  if (!std::isfinite(value)) Fail(fmt::format("expected a finite number, found {}", Found()));
  const Unit& unit = UnitOf(name_);
  if (value < limits.lo || value > limits.hi) {
    Fail(fmt::format("{} is out of range; give {} to {}", WithUnit(value, unit), fmt::format("{}", limits.lo),
                     WithUnit(limits.hi, unit)));
  }
  return value * unit.times / unit.over;
}

int YamlNode::Integer(int lo, int hi) const {
  const std::string text = Scalar("a whole number");
  int value = 0;
  const char* last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, value);
  const bool huge = error == std::errc::result_out_of_range;
  if (item_->quoted || (error != std::errc() && !huge) || end != last)
    Fail(fmt::format("expected a whole number, found {}", Found()));
  if (huge || value < lo || value > hi) {
    Fail(fmt::format("{} is out of range; give {} to {}", Quoted(text), lo, WithUnit(hi, UnitOf(name_))));
  }
  return value;
}

bool YamlNode::Bool() const {
  const std::string text = Scalar("true or false");
  if (!item_->quoted && text == "true") return true;
  if (!item_->quoted && text == "false") return false;
  Fail(fmt::format("expected true or false, found {}", Found()));
}

std::string YamlNode::Text(size_t most) const {
  const std::string text = Scalar("text");
  if (text.find_first_not_of(" \t\r\n") == std::string::npos) Fail("expected text, found none");
  if (text.size() > most) Fail(fmt::format("{} bytes of text, at most {} are allowed; shorten it", text.size(), most));
  if (std::any_of(text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x20; })) {
    Fail("text must stand on one line, without tabs or line breaks");
  }
  return text;
}

std::string YamlNode::Name() const {
  const std::string text = Scalar("a name");
  const auto small = [](char c) { return c >= 'a' && c <= 'z'; };
  const auto allowed = [&](char c) { return small(c) || (c >= '0' && c <= '9') || c == '-' || c == '_'; };
  if (text.empty() || text.size() > 40 || !small(text[0]) || !std::all_of(text.begin(), text.end(), allowed)) {
    Fail(fmt::format("\"{}\" is no name; use up to 40 small letters, digits, - and _, a letter first", Quoted(text)));
  }
  return text;
}

size_t YamlNode::IndexOf(const std::vector<std::string>& words, std::string_view expected) const {
  const std::string text = Scalar(expected);
  const auto found = std::find(words.begin(), words.end(), text);
  if (found == words.end()) Fail(fmt::format("\"{}\" is not known{}", Quoted(text), Suggest(text, words)));
  return static_cast<size_t>(found - words.begin());
}

std::vector<YamlNode> YamlNode::List(size_t least, size_t most) const {
  if (item_->kind != Kind::kList) Fail(fmt::format("expected a list, found {}", Found()));
  const size_t n = item_->items.size();
  if (n < least || n > most) {
    const std::string wanted = least == most ? fmt::format("{}", least) : fmt::format("{} to {}", least, most);
    Fail(fmt::format("expected a list of {}, found {} items", wanted, n));
  }
  std::vector<YamlNode> nodes;
  nodes.reserve(n);
  for (size_t i = 0; i < n; ++i) nodes.push_back(Child(item_->items[i], fmt::format("{}, item {}", name_, i + 1)));
  return nodes;
}

std::vector<double> YamlNode::Numbers(size_t least, size_t most, Limits limits) const {
  std::vector<double> values;
  for (const YamlNode& node : List(least, most)) values.push_back(node.Number(limits));
  return values;
}

YamlMap YamlNode::Map(const std::vector<std::string>& known) const {
  if (item_->kind != Kind::kMap) {
    Fail(fmt::format("expected a map with {}, found {}", fmt::join(known, ", "), Found()));
  }
  for (const Item& key : item_->keys) {
    if (std::find(known.begin(), known.end(), key.scalar) == known.end()) {
      Child(key, name_).Fail(fmt::format("unknown key \"{}\"{}", Quoted(key.scalar), Suggest(key.scalar, known)));
    }
  }
  return YamlMap(*this);
}

YamlMap YamlNode::Document(const std::string& kind, std::vector<std::string> known) const {
  const std::string wanted = fmt::format("dryrig: {}/1", kind);
  if (item_->kind != Kind::kMap) Fail(fmt::format("expected a map that begins with `{}`, found {}", wanted, Found()));
  const std::optional<YamlNode> header = YamlMap(*this).Find("dryrig");
  if (!header) Fail(fmt::format("expected `{}` as the first key; is this a {} file?", wanted, kind));
  const std::string found = header->Scalar(fmt::format("{}/1", kind));
  if (found != kind + "/1") {
    const bool same_kind = found.starts_with(kind + "/");
    header->Fail(fmt::format("expected {}/1, found \"{}\"; {}", kind, Quoted(found),
                             same_kind ? "this program reads version 1 alone" : fmt::format("give a {} file here", kind)));
  }
  known.insert(known.begin(), "dryrig");
  return Map(known);
}

std::optional<YamlNode> YamlMap::Find(const std::string& key) const {
  const YamlNode::Item& item = *node_.item_;
  for (size_t i = 0; i < item.keys.size(); ++i) {
    if (item.keys[i].scalar == key) return node_.Child(item.items[i], key);
  }
  return std::nullopt;
}

YamlNode YamlMap::At(const std::string& key) const {
  if (std::optional<YamlNode> found = Find(key)) return *found;
  node_.Fail(fmt::format("\"{}\" is missing; add it", key));
}

std::string YamlMap::OneOf(const std::vector<std::string>& keys, std::string_view what) const {
  std::string found;
  for (const std::string& key : keys) {
    if (!Has(key)) continue;
    if (!found.empty()) {
      At(key).FailPlain(fmt::format("has both \"{}\" and \"{}\"; give one {}", found, key, what));
    }
    found = key;
  }
  if (found.empty()) node_.Fail(fmt::format("no {}; give one of {}", what, fmt::join(keys, ", ")));
  return found;
}

double YamlMap::Number(const std::string& key, Limits limits, double fallback) const {
  const std::optional<YamlNode> found = Find(key);
  return found ? found->Number(limits) : fallback;
}

bool YamlMap::Bool(const std::string& key, bool fallback) const {
  const std::optional<YamlNode> found = Find(key);
  return found ? found->Bool() : fallback;
}

}  // namespace dryrig
