#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "scenes/yaml_node.h"

namespace dryrig {

/// What the parser leaves: plain data, shared by all the nodes of a file.
struct YamlNode::Item {
  Kind kind = Kind::kNull;
  bool quoted = false;
  std::string scalar;
  int line = 0, column = 0;  // 1-based, in bytes as compilers count
  std::vector<Item> keys;    // map: scalars, as many as items
  std::vector<Item> items;
};

struct YamlNode::File {
  std::string name;
  Item root;
};

/// Length of the well-formed UTF-8 character at text[i] (RFC 3629: no overlong forms, no surrogates), 0 if it is none.
size_t CharacterLength(std::string_view text, size_t i);
/// Bytes that are safe to print in a message: shortened, control characters as `?`, cut between characters.
std::string Quoted(std::string_view text);

}  // namespace dryrig
