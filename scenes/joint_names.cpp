#include "scenes/joint_names.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>

namespace dryrig {

namespace {

using Words = std::vector<std::string_view>;

// What joints are called, best first: a point takes the joint with the earliest word. A bone's name stands for the joint at its
// near end, as is the habit in files of motion: `LeftForeArm` is at the elbow.
const Words kPelvis{"hips",      "pelvis",    "hip",      "midhip", "hipcenter", "hipscenter",
                    "centerhip", "spinebase", "hipsroot", "cog",    "root"};
const Words kHip{"upleg", "upperleg", "thigh", "legupper", "femur", "hip", "hipjoint", "leg"};
const Words kKnee{"lowerleg", "lowleg", "leglower", "knee", "leg", "shin", "calf", "tibia"};
const Words kAnkle{"ankle", "foot"};
const Words kToe{"toebase", "toe", "toes", "ball", "bigtoe", "footindex", "forefoot", "foottip", "foot"};
const Words kShoulder{"uparm", "upperarm", "armupper", "humerus", "shldr", "arm", "shoulder"};
const Words kElbow{"forearm", "lowerarm", "lowarm", "armlower", "elbow", "ulna", "radius"};
const Words kWrist{"wrist", "hand"};
const Words kFingers{"fingers", "handtip", "handend", "fingerbase", "palm", "knuckles", "hand"};
const Words kNeck{"neck", "necklower", "lowerneck", "cervical", "shouldercenter", "spineshoulder"};
const Words kHead{"head", "skull"};
const Words kHeadTop{"headtop", "headtopend", "headend", "headnub", "headtip", "crown", "topofhead", "vertex"};
const Words kSpine{"spine", "lowerback", "spinemid", "spinemiddle", "abdomen", "ab",
                   "belly", "waist",     "lumbar",   "torso",       "back",    "midtorso"};
const Words kChest{"chest", "upperchest", "thorax", "sternum", "upperback", "spineupper"};
const std::array<Words, 5> kFinger{Words{"thumb"}, Words{"index", "indexfinger", "pointer", "point", "fingerindex"},
                                   Words{"middle", "middlefinger", "mid", "fingermiddle", "long"},
                                   Words{"ring", "ringfinger", "fingerring"},
                                   Words{"pinky", "pinkie", "little", "littlefinger", "small", "pinkyfinger", "fingerpinky"}};

int RankIn(const Words& words, std::string_view word) {
  const auto it = std::find(words.begin(), words.end(), word);
  return it == words.end() ? -1 : static_cast<int>(it - words.begin());
}

bool IsKnown(std::string_view word) {
  for (const Words* words : {&kPelvis, &kHip, &kKnee, &kAnkle, &kToe, &kShoulder, &kElbow, &kWrist, &kFingers, &kNeck, &kHead,
                             &kHeadTop, &kSpine, &kChest}) {
    if (RankIn(*words, word) >= 0) return true;
  }
  for (const Words& words : kFinger) {
    if (RankIn(words, word) >= 0) return true;
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

namespace {

/// Finds points one after another; later steps use what earlier ones found.
class Guesser {
 public:
  Guesser(const std::vector<NamedJoint>& joints, const JointMap& fixed) : joints_(joints), map_(fixed) {
    const std::string prefix = SharedPrefix();
    for (const NamedJoint& joint : joints) names_.push_back(SplitJointName(joint.end ? "" : joint.name.substr(prefix.size())));
    taken_.assign(joints.size(), false);
    for (const int joint : map_) {
      if (joint >= 0) taken_[static_cast<size_t>(joint)] = true;
    }
  }

  JointMap Guess() {
    for (int side = 0; side < 2; ++side) {
      Find(AtSide(TrackPoint::kWristL, side), kWrist, side);
      Find(AtSide(TrackPoint::kElbowL, side), kElbow, side);
      Find(AtSide(TrackPoint::kShoulderL, side), kShoulder, side);
      FindShoulderAbove(side);
      Find(AtSide(TrackPoint::kAnkleL, side), kAnkle, side);
      Find(AtSide(TrackPoint::kKneeL, side), kKnee, side);
      Find(AtSide(TrackPoint::kHipL, side), kHip, side);
      Find(AtSide(TrackPoint::kToeL, side), kToe, side);
      FindEnd(AtSide(TrackPoint::kToeL, side), AtSide(TrackPoint::kAnkleL, side));
      Find(AtSide(TrackPoint::kEyeL, side), {"eye"}, side);
      Find(AtSide(TrackPoint::kEarL, side), {"ear"}, side);
      FindHand(side);
    }
    Find(TrackPoint::kPelvis, kPelvis, -1);
    Find(TrackPoint::kNeck, kNeck, -1);
    Find(TrackPoint::kHead, kHead, -1);
    Find(TrackPoint::kHeadTop, kHeadTop, -1);
    FindEnd(TrackPoint::kHeadTop, TrackPoint::kHead);
    Find(TrackPoint::kNose, {"nose"}, -1);
    FindTrunk();
    for (int& joint : map_) joint = std::max(joint, -1);
    return map_;
  }

 private:
  /// What stands before every name, up to the last separator in it.
  std::string SharedPrefix() const {
    std::string shared;
    bool first = true;
    for (const NamedJoint& joint : joints_) {
      if (joint.end) continue;
      if (first) shared = joint.name;
      first = false;
      size_t same = 0;
      while (same < std::min(shared.size(), joint.name.size()) && shared[same] == joint.name[same]) ++same;
      shared.resize(same);
    }
    const size_t last = shared.find_last_of(" _-.:|");
    return last == std::string::npos ? "" : shared.substr(0, last + 1);
  }

  int& Of(TrackPoint point) { return map_[static_cast<size_t>(point)]; }
  void Give(TrackPoint point, int joint) {
    Of(point) = joint;
    if (joint >= 0) taken_[static_cast<size_t>(joint)] = true;
  }

  /// The free joint of this side with the best word, the lowest number, the first in the file.
  void Find(TrackPoint point, const Words& words, int side) {
    if (Of(point) != -1) return;
    int best = -1;
    std::pair<int, int> best_rank;
    for (size_t i = 0; i < joints_.size(); ++i) {
      if (joints_[i].end || taken_[i] || names_[i].side != side) continue;
      const int rank = RankIn(words, names_[i].word);
      if (rank < 0) continue;
      const std::pair<int, int> mine{rank, names_[i].number};
      if (best >= 0 && !(mine < best_rank)) continue;
      best = static_cast<int>(i);
      best_rank = mine;
    }
    Give(point, best);
  }

  /// `LeftShoulder` is the collar bone where it is the parent's parent of the elbow: the shoulder is the elbow's parent.
  void FindShoulderAbove(int side) {
    const int elbow = Of(AtSide(TrackPoint::kElbowL, side)), shoulder = Of(AtSide(TrackPoint::kShoulderL, side));
    if (elbow < 0 || shoulder >= 0) return;
    const int parent = joints_[static_cast<size_t>(elbow)].parent;
    if (parent >= 0 && names_[static_cast<size_t>(parent)].side == side) Give(AtSide(TrackPoint::kShoulderL, side), parent);
  }

  std::vector<int> ChildrenOf(int joint) const {
    std::vector<int> out;
    for (size_t i = 0; i < joints_.size(); ++i) {
      if (joints_[i].parent == joint) out.push_back(static_cast<int>(i));
    }
    return out;
  }

  /// The end of the bone that begins at `from`, where it has no joint of its own.
  void FindEnd(TrackPoint point, TrackPoint from) {
    if (Of(point) != -1 || Of(from) < 0) return;
    for (const int child : ChildrenOf(Of(from))) {
      if (joints_[static_cast<size_t>(child)].end) return Give(point, child);
    }
  }

  /// From a finger's first joint outwards; the tip is the end of the last bone.
  std::vector<int> ChainFrom(int joint) const {
    std::vector<int> chain;
    while (joint >= 0) {
      chain.push_back(joint);
      const std::vector<int> children = ChildrenOf(joint);
      joint = children.size() == 1 ? children[0] : -1;
    }
    return chain;
  }

  /// Joints of a finger in a file with a tree: its chain; without: by their numbers.
  std::vector<int> FingerJoints(int side, int finger) const {
    std::vector<int> numbered;
    for (size_t i = 0; i < joints_.size(); ++i) {
      if (!joints_[i].end && !taken_[i] && names_[i].side == side && IsFinger(names_[i], finger)) {
        numbered.push_back(static_cast<int>(i));
      }
    }
    if (numbered.empty()) return {};
    const auto number = [&](int joint) { return names_[static_cast<size_t>(joint)].number; };
    std::stable_sort(numbered.begin(), numbered.end(), [&](int a, int b) { return number(a) < number(b); });
    const bool tree = joints_[static_cast<size_t>(numbered[0])].parent >= 0;
    return tree ? ChainFrom(numbered[0]) : numbered;
  }

  /// By word, or by number alone: `Finger0` to `Finger4` with their segments behind, `Finger12`.
  static bool IsFinger(const JointName& name, int finger) {
    if (RankIn(kFinger[static_cast<size_t>(finger)], name.word) >= 0) return true;
    if (name.word.starts_with("hand") && RankIn(kFinger[static_cast<size_t>(finger)], std::string_view(name.word).substr(4)) >= 0)
      return true;
    if (name.word != "finger" || name.number < 0) return false;
    return (name.digits == 2 ? name.number / 10 : name.number) == finger;
  }

  void FindHand(int side) {
    std::array<std::vector<int>, 5> fingers;
    bool whole = true;
    for (int finger = 0; finger < 5; ++finger) {
      fingers[static_cast<size_t>(finger)] = FingerJoints(side, finger);
      whole = whole && fingers[static_cast<size_t>(finger)].size() >= 3;
    }
    if (whole) {
      for (int finger = 0; finger < 5; ++finger) {
        std::vector<int>& chain = fingers[static_cast<size_t>(finger)];
        if (chain.size() > 4) chain.erase(chain.begin(), chain.end() - 4);  // a bone of the palm comes first
        for (size_t i = 0; i < chain.size(); ++i) {
          const TrackPoint point = FingerAt(side, 4 * finger + static_cast<int>(i) + 1);
          if (Of(point) == -1) Give(point, chain[i]);
        }
      }
      return;
    }
    const TrackPoint hand = AtSide(TrackPoint::kFingersL, side), thumb = AtSide(TrackPoint::kThumbL, side);
    Find(hand, kFingers, side);
    if (Of(hand) == -1 && !fingers[2].empty()) Give(hand, fingers[2].front());
    if (Of(hand) == -1 && !fingers[1].empty()) Give(hand, fingers[1].front());
    FindEnd(hand, AtSide(TrackPoint::kWristL, side));
    if (Of(thumb) == -1 && !fingers[0].empty()) Give(thumb, fingers[0].back());
  }

  /// Joints between two, `from` nearer the root; empty where `to` is not below it.
  std::vector<int> PathBetween(int from, int to) const {
    std::vector<int> path;
    for (int joint = joints_[static_cast<size_t>(to)].parent; joint != from; joint = joints_[static_cast<size_t>(joint)].parent) {
      if (joint < 0) return {};
      path.push_back(joint);
    }
    std::reverse(path.begin(), path.end());
    return path;
  }

  /// The joint that both of a pair hang from; -1: none, or taken.
  int ParentOfBoth(TrackPoint left) {
    const int a = Of(left), b = Of(AtSide(left, 1));
    if (a < 0 || b < 0) return -1;
    for (int up = joints_[static_cast<size_t>(a)].parent; up >= 0; up = joints_[static_cast<size_t>(up)].parent) {
      for (int other = joints_[static_cast<size_t>(b)].parent; other >= 0; other = joints_[static_cast<size_t>(other)].parent) {
        if (up == other) return taken_[static_cast<size_t>(up)] ? -1 : up;
      }
    }
    return -1;
  }

  /// A tree's trunk is the way from the pelvis to the head. Its two points are told apart by their place in the row.
  void FindTrunk() {
    if (Of(TrackPoint::kPelvis) == -1) Give(TrackPoint::kPelvis, ParentOfBoth(TrackPoint::kHipL));
    const int pelvis = Of(TrackPoint::kPelvis), head = Of(TrackPoint::kHead);
    if (Of(TrackPoint::kNeck) == -1 && pelvis >= 0 && head >= 0 && joints_[static_cast<size_t>(head)].parent >= 0) {
      const std::vector<int> path = PathBetween(pelvis, head);
      if (!path.empty() && !taken_[static_cast<size_t>(path.back())]) Give(TrackPoint::kNeck, path.back());
    }
    const int neck = Of(TrackPoint::kNeck);
    std::vector<int> path;
    if (pelvis >= 0 && neck >= 0) path = PathBetween(pelvis, neck);
    std::erase_if(path, [&](int joint) { return taken_[static_cast<size_t>(joint)]; });
    if (path.empty()) {
      Find(TrackPoint::kChest, kChest, -1);
      Find(TrackPoint::kSpine, kSpine, -1);
      return;
    }
    if (Of(TrackPoint::kSpine) == -1) Give(TrackPoint::kSpine, path[path.size() > 2 ? path.size() / 3 : 0]);
    if (Of(TrackPoint::kChest) == -1 && path.size() > 1) Give(TrackPoint::kChest, path[path.size() * 2 / 3]);
  }

  const std::vector<NamedJoint>& joints_;
  std::vector<JointName> names_;
  std::vector<bool> taken_;
  JointMap map_;
};

}  // namespace

JointMap GuessJoints(const std::vector<NamedJoint>& joints, const JointMap& fixed) {
  return Guesser(joints, fixed).Guess();
}

}  // namespace dryrig
