#include <algorithm>
#include <array>
#include <string_view>

#include "scenes/joint_names.h"
#include "scenes/joint_words.h"

namespace dryrig {

namespace {

namespace words = joint_words;
using words::RankIn;
using words::Words;

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
    FindOurNames();
    for (int side = 0; side < 2; ++side) {
      Find(AtSide(TrackPoint::kWristL, side), words::kWrist, side);
      Find(AtSide(TrackPoint::kElbowL, side), words::kElbow, side);
      Find(AtSide(TrackPoint::kShoulderL, side), words::kShoulder, side);
      FillLimb({TrackPoint::kShoulderL, TrackPoint::kElbowL, TrackPoint::kWristL}, side);
      Find(AtSide(TrackPoint::kAnkleL, side), words::kAnkle, side);
      Find(AtSide(TrackPoint::kKneeL, side), words::kKnee, side);
      Find(AtSide(TrackPoint::kHipL, side), words::kHip, side);
      FillLimb({TrackPoint::kHipL, TrackPoint::kKneeL, TrackPoint::kAnkleL}, side);
      Find(AtSide(TrackPoint::kToeL, side), words::kToe, side);
      FindEnd(AtSide(TrackPoint::kToeL, side), AtSide(TrackPoint::kAnkleL, side));
      Find(AtSide(TrackPoint::kEyeL, side), {"eye"}, side);
      Find(AtSide(TrackPoint::kEarL, side), {"ear"}, side);
      FindHand(side);
    }
    Find(TrackPoint::kPelvis, words::kPelvis, -1);
    Find(TrackPoint::kNeck, words::kNeck, -1);
    Find(TrackPoint::kHead, words::kHead, -1);
    Find(TrackPoint::kHeadTop, words::kHeadTop, -1);
    FindHeadInTree();
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

  /// Who writes tracks of points for us uses our words.
  void FindOurNames() {
    for (size_t i = 0; i < joints_.size(); ++i) {
      if (joints_[i].parent >= 0) return;
      const auto point = taken_[i] ? std::nullopt : FindTrackPoint(joints_[i].name);
      if (point && Of(*point) == -1) Give(*point, static_cast<int>(i));
    }
  }

  int& Of(TrackPoint point) { return map_[static_cast<size_t>(point)]; }
  void Give(TrackPoint point, int joint) {
    Of(point) = joint;
    if (joint >= 0) taken_[static_cast<size_t>(joint)] = true;
  }

  /// The free joint of this side with the best word, the lowest number, the first in the file.
  void Find(TrackPoint point, const Words& list, int side) {
    if (Of(point) != -1) return;
    int best = -1;
    std::pair<int, int> best_rank;
    for (size_t i = 0; i < joints_.size(); ++i) {
      if (joints_[i].end || taken_[i] || names_[i].side != side) continue;
      const int rank = RankIn(list, names_[i].word);
      if (rank < 0) continue;
      const std::pair<int, int> mine{rank, names_[i].number};
      if (best >= 0 && !(mine < best_rank)) continue;
      best = static_cast<int>(i);
      best_rank = mine;
    }
    Give(point, best);
  }

  /// Where names tell two joints of a limb, the tree tells the third: whose parent, child or only joint between they are.
  void FillLimb(const std::array<TrackPoint, 3>& points, int side) {
    const auto [first, middle, last] = std::array{AtSide(points[0], side), AtSide(points[1], side), AtSide(points[2], side)};
    const auto is_free = [&](int joint) {
      return joint >= 0 && !taken_[static_cast<size_t>(joint)] && !joints_[static_cast<size_t>(joint)].end;
    };
    if (Of(middle) >= 0 && Of(first) == -1) {
      const int parent = joints_[static_cast<size_t>(Of(middle))].parent;
      if (is_free(parent) && names_[static_cast<size_t>(parent)].side == side) Give(first, parent);
    }
    if (Of(middle) >= 0 && Of(first) >= 0) {
      // The name was of a bone before: `LeftShoulder` of the collar's. A joint that only twists is none of ours.
      const std::vector<int> path = PathBetween(Of(first), Of(middle));
      if (path.size() == 1 && is_free(path[0]) && !Twists(path[0])) Give(first, path[0]);
    }
    if (Of(first) >= 0 && Of(last) >= 0 && Of(middle) == -1) {
      const std::vector<int> path = PathBetween(Of(first), Of(last));
      if (path.size() == 1 && is_free(path[0])) Give(middle, path[0]);
    }
    if (Of(middle) >= 0 && Of(last) == -1) {
      const std::vector<int> children = ChildrenOf(Of(middle));
      if (children.size() == 1 && is_free(children[0])) Give(last, children[0]);
    }
  }

  bool Twists(int joint) const {
    const std::string& word = names_[static_cast<size_t>(joint)].word;
    return word.find("twist") != std::string::npos || word.find("roll") != std::string::npos;
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
    if (RankIn(words::kFinger[static_cast<size_t>(finger)], name.word) >= 0) return true;
    if (name.word.starts_with("hand") &&
        RankIn(words::kFinger[static_cast<size_t>(finger)], std::string_view(name.word).substr(4)) >= 0)
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
    Find(hand, words::kFingers, side);
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

  bool IsAbove(int joint, int other) const {
    for (; other >= 0; other = joints_[static_cast<size_t>(other)].parent) {
      if (other == joint) return true;
    }
    return false;
  }

  /// Nobody is called head or neck: they are what goes on from where the arms branch off, if one thing does.
  void FindHeadInTree() {
    if (Of(TrackPoint::kHead) != -1 || Of(TrackPoint::kNeck) != -1) return;
    const int left = Of(TrackPoint::kShoulderL), right = Of(TrackPoint::kShoulderR), fork = ParentOfBoth(TrackPoint::kShoulderL);
    if (fork < 0) return;
    std::vector<int> on;
    for (const int child : ChildrenOf(fork)) {
      if (!IsAbove(child, left) && !IsAbove(child, right) && !joints_[static_cast<size_t>(child)].end) on.push_back(child);
    }
    if (on.size() != 1) return;
    std::vector<int> chain = ChainFrom(on[0]);
    if (joints_[static_cast<size_t>(chain.back())].end) chain.pop_back();
    if (chain.size() > 1) Give(TrackPoint::kNeck, chain.front());
    Give(TrackPoint::kHead, chain.back());
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
      Find(TrackPoint::kChest, words::kChest, -1);
      Find(TrackPoint::kSpine, words::kSpine, -1);
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
