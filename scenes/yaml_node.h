#pragma once

#include <Eigen/Core>
#include <filesystem>
#include <initializer_list>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "scenes/error.h"

namespace dryrig {

/// Closed interval, in the unit that the key's suffix names.
struct Limits {
  double lo, hi;
};

/// What the file says, byte for byte. @throws InputError: missing, a folder, not a plain file, unreadable, over `most_bytes`.
std::string ReadTextFile(const std::filesystem::path& file, size_t most_bytes = size_t{4} << 20);

class YamlMap;

/// A value in a YAML file: knows its place and its name. Every reader below throws InputError at that place with what was
/// expected and what was found. Numbers read the same in every locale; NaN and infinity are never let through.
class YamlNode {
 public:
  enum class Kind { kNull, kScalar, kList, kMap };
  struct Item;
  struct File;

  /// One document, UTF-8, at most 512 KiB, 100,000 values and 16 levels; no anchors, aliases, tags or keys given twice.
  /// @throws InputError for anything else.
  static YamlNode Parse(const std::string& text, const std::string& file_name);

  Kind kind() const;
  SourcePos pos() const;
  /// The same value under a heading in place of its name: messages about it and all it holds begin with `context: `.
  YamlNode In(std::string context) const;
  /// @throws InputError `file:line:column: context: name: message`, always.
  [[noreturn]] void Fail(std::string_view message) const;
  /// The same without the name, for a message that makes a sentence of its own.
  [[noreturn]] void FailPlain(std::string_view message) const;

  /// In SI: the suffix of the key (_mm, _deg, _g, _ms, ...) is the unit of the file and of the limits.
  double Number(Limits limits) const;
  int Integer(int lo, int hi) const;
  bool Bool() const;
  /// Printable text on one line, not empty, at most `most` bytes.
  std::string Text(size_t most = 300) const;
  /// A name: small letters, digits, `-` and `_`, a letter first, at most 40.
  std::string Name() const;
  /// One word of a table.
  template <class T>
  T Choice(std::initializer_list<std::pair<std::string_view, T>> table) const;
  /// Any scalar as it stands, for callers with a parser of their own.
  std::string Scalar(std::string_view expected) const;
  std::vector<YamlNode> List(size_t least, size_t most) const;
  /// A list of `least` to `most` numbers, in SI.
  std::vector<double> Numbers(size_t least, size_t most, Limits limits) const;
  template <int N>
  Eigen::Matrix<double, N, 1> Vector(Limits limits) const {
    return Eigen::Map<const Eigen::Matrix<double, N, 1>>(Numbers(N, N, limits).data());
  }
  /// A map that holds no other keys than these.
  YamlMap Map(const std::vector<std::string>& known) const;
  /// The whole file: a map with `dryrig: KIND/1` and no other keys than these (`dryrig` itself goes without saying).
  YamlMap Document(const std::string& kind, std::vector<std::string> known) const;

 private:
  friend class YamlMap;
  YamlNode(std::shared_ptr<const File> file, const Item* item) : file_(std::move(file)), item_(item) {}
  YamlNode Child(const Item& item, std::string name) const;
  SourcePos PosOf(const Item& item) const;
  std::string Found() const;
  size_t IndexOf(const std::vector<std::string>& words, std::string_view expected) const;

  std::shared_ptr<const File> file_;
  const Item* item_;
  std::string context_, name_;
};

/// A map's keys. A key that is wanted and missing throws InputError at the map's place.
class YamlMap {
 public:
  const YamlNode& node() const { return node_; }
  bool Has(const std::string& key) const { return Find(key).has_value(); }
  YamlNode At(const std::string& key) const;
  std::optional<YamlNode> Find(const std::string& key) const;
  /// The one key of these that the map has. @throws InputError when there is none or more than one; `what` names the choice.
  std::string OneOf(const std::vector<std::string>& keys, std::string_view what) const;

  double Number(const std::string& key, Limits limits) const { return At(key).Number(limits); }
  /// `fallback` in SI.
  double Number(const std::string& key, Limits limits, double fallback) const;
  bool Bool(const std::string& key, bool fallback) const;
  std::string Text(const std::string& key) const { return At(key).Text(); }
  template <int N>
  Eigen::Matrix<double, N, 1> Vector(const std::string& key, Limits limits) const {
    return At(key).Vector<N>(limits);
  }

 private:
  friend class YamlNode;
  explicit YamlMap(YamlNode node) : node_(std::move(node)) {}
  YamlNode node_;
};

template <class T>
T YamlNode::Choice(std::initializer_list<std::pair<std::string_view, T>> table) const {
  std::vector<std::string> words;
  for (const auto& [word, value] : table) words.emplace_back(word);
  return (table.begin() + IndexOf(words, "one word"))->second;
}

}  // namespace dryrig
