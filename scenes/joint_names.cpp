#include "scenes/joint_names.h"

#include <cctype>
#include <string_view>

#include "scenes/joint_words.h"

namespace dryrig {

namespace {

namespace words = joint_words;
using words::RankIn;
using words::Words;

bool IsKnown(std::string_view word) {
  for (const Words* list :
       {&words::kPelvis, &words::kHip, &words::kKnee, &words::kAnkle, &words::kToe, &words::kShoulder, &words::kElbow,
        &words::kWrist, &words::kFingers, &words::kNeck, &words::kHead, &words::kHeadTop, &words::kSpine, &words::kChest}) {
    if (RankIn(*list, word) >= 0) return true;
  }
  for (const Words& list : words::kFinger) {
    if (RankIn(list, word) >= 0) return true;
  }
  return word == "collar" || word == "clavicle" || word == "scapula" || word == "eye" || word == "ear" || word == "nose" ||
         word == "heel" || word == "finger" || word == "buttock";
}

/// Words of a name: runs of letters, split where a small letter meets a capital and where a run of capitals ends; digits apart.
std::vector<std::string> Tokens(std::string_view name) {
  std::vector<std::string> out;
  const auto kind = [](char c) {
    const auto u = static_cast<unsigned char>(c);
    return std::isdigit(u) ? 'd' : std::isupper(u) ? 'U' : std::isalpha(u) ? 'l' : ' ';
  };
  for (size_t i = 0; i < name.size(); ++i) {
    const char now = kind(name[i]);
    if (now == ' ') continue;
    const char before = i == 0 ? ' ' : kind(name[i - 1]), after = i + 1 < name.size() ? kind(name[i + 1]) : ' ';
    const bool fresh = before == ' ' || (now == 'd') != (before == 'd') || (now == 'U' && before == 'l') ||
                       (now == 'U' && before == 'U' && after == 'l');
    if (fresh) out.emplace_back();
    out.back() += static_cast<char>(std::tolower(static_cast<unsigned char>(name[i])));
  }
  return out;
}

int SideOf(std::string_view word) {
  if (word == "l" || word == "left" || word == "lt" || word == "lft") return 0;
  if (word == "r" || word == "right" || word == "rt" || word == "rgt") return 1;
  return -1;
}

/// `leftarm`, `lthigh`, `handr`: the side takes itself off, if a known word is left.
int TakeSide(std::string* word) {
  if (IsKnown(*word)) return -1;
  for (const auto& [piece, side] : {std::pair<std::string_view, int>{"left", 0}, {"right", 1}, {"l", 0}, {"r", 1}}) {
    if (word->size() <= piece.size()) continue;
    for (const bool front : {true, false}) {
      if (front ? !word->starts_with(piece) : !word->ends_with(piece)) continue;
      const std::string rest = front ? word->substr(piece.size()) : word->substr(0, word->size() - piece.size());
      if (piece.size() == 1 && !IsKnown(rest)) continue;
      *word = rest;
      return side;
    }
  }
  return -1;
}

}  // namespace

JointMap EmptyJointMap() {
  JointMap map;
  map.fill(-1);
  return map;
}

JointName SplitJointName(const std::string& name) {
  std::string_view rest = name;
  if (const size_t colon = rest.find_last_of(":|"); colon != std::string_view::npos) rest.remove_prefix(colon + 1);
  JointName out;
  std::vector<std::string> parts;
  for (std::string& token : Tokens(rest)) {
    const bool digits = std::isdigit(static_cast<unsigned char>(token[0])) != 0;
    if (digits) {
      out.digits = static_cast<int>(token.size());
      if (token.size() <= 4) out.number = std::stoi(token);
      continue;
    }
    const int side = SideOf(token);
    if (side >= 0 && out.side < 0) {
      out.side = side;
      continue;
    }
    out.number = -1;  // a number counts where it comes last
    parts.push_back(std::move(token));
  }
  // What rigs put round every joint's name says nothing.
  const auto is_decoration = [](const std::string& part) {
    static const Words kDecoration{"joint",     "jnt",   "jt",    "bone",      "bn",       "bip",   "biped", "def",
                                   "org",       "bind",  "skin",  "mixamorig", "rig",      "sk",    "skel",  "skeleton",
                                   "character", "valve", "cc",    "base",      "jbip",     "j",     "b",     "c",
                                   "f",         "x",     "mocap", "actor",     "armature", "human", "track"};
    return RankIn(kDecoration, part) >= 0;
  };
  const auto join = [&](bool bare) {
    std::string word;
    for (const std::string& part : parts) {
      if (!(bare && is_decoration(part))) word += part;
    }
    return word;
  };
  out.word = join(false);
  if (out.side < 0) out.side = TakeSide(&out.word);
  if (!IsKnown(out.word)) {
    std::string bare = join(true);
    if (out.side < 0) out.side = TakeSide(&bare);
    if (!bare.empty()) out.word = bare;
  }
  return out;
}

}  // namespace dryrig
