#pragma once

#include <algorithm>
#include <array>
#include <string_view>
#include <vector>

namespace dryrig::joint_words {

using Words = std::vector<std::string_view>;

// What joints are called, best first: a point takes the joint with the earliest word. A bone's name stands for the joint at its
// near end, as is the habit in files of motion: `LeftForeArm` is at the elbow.
inline const Words kPelvis{"hips",      "pelvis",    "hip",      "midhip", "hipcenter", "hipscenter",
                           "centerhip", "spinebase", "hipsroot", "cog",    "root"};
inline const Words kHip{"upleg", "upperleg", "thigh", "legupper", "femur", "hip", "hipjoint", "leg"};
inline const Words kKnee{"lowerleg", "lowleg", "leglower", "knee", "leg", "shin", "calf", "tibia"};
inline const Words kAnkle{"ankle", "foot"};
inline const Words kToe{"toebase", "toe", "toes", "ball", "bigtoe", "footindex", "forefoot", "foottip", "foot"};
inline const Words kShoulder{"uparm", "upperarm", "armupper", "humerus", "shldr", "arm", "shoulder"};
inline const Words kElbow{"forearm", "lowerarm", "lowarm", "armlower", "elbow", "ulna", "radius"};
inline const Words kWrist{"wrist", "hand"};
inline const Words kFingers{"fingers", "handtip", "handend", "fingerbase", "palm", "knuckles", "hand"};
inline const Words kNeck{"neck", "necklower", "lowerneck", "cervical", "shouldercenter", "spineshoulder"};
inline const Words kHead{"head", "skull"};
inline const Words kHeadTop{"headtop", "headtopend", "headend", "headnub", "headtip", "crown", "topofhead", "vertex"};
inline const Words kSpine{"spine", "lowerback", "spinemid", "spinemiddle", "abdomen", "ab",
                          "belly", "waist",     "lumbar",   "torso",       "back",    "midtorso"};
inline const Words kChest{"chest", "upperchest", "thorax", "sternum", "upperback", "spineupper"};
inline const std::array<Words, 5> kFinger{
    Words{"thumb"}, Words{"index", "indexfinger", "pointer", "point", "fingerindex"},
    Words{"middle", "middlefinger", "mid", "fingermiddle", "long"}, Words{"ring", "ringfinger", "fingerring"},
    Words{"pinky", "pinkie", "little", "littlefinger", "small", "pinkyfinger", "fingerpinky"}};

/// Place of a word in a list, -1: it is not in it.
inline int RankIn(const Words& words, std::string_view word) {
  const auto it = std::find(words.begin(), words.end(), word);
  return it == words.end() ? -1 : static_cast<int>(it - words.begin());
}

}  // namespace dryrig::joint_words
