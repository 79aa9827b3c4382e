#pragma once

#include <array>
#include <string>
#include <vector>

#include "scenes/track_point.h"

namespace dryrig {

/// A joint as a file names it. `parent` precedes it, -1: a root, or the format has no tree. `end`: the nameless end of a bone.
struct NamedJoint {
  std::string name;
  int parent = -1;
  bool end = false;
};

/// Index of the joint for each point, -1: none.
using JointMap = std::array<int, kNumTrackPoints>;
JointMap EmptyJointMap();

/// Guesses from the usual habits: a side before or after (`LeftArm`, `arm_l`, `Upperarm.R`, `lThigh`), name spaces (`rig:Hips`),
/// prefixes that all share (`Bip01 L Hand`), camel case, underscores, numbered spine and finger joints, and where trees leave a
/// choice, who is whose parent. Points in `fixed` are kept; -2 there: the file has none.
JointMap GuessJoints(const std::vector<NamedJoint>& joints, const JointMap& fixed);

/// A name's parts: side (-1 none, 0 left, 1 right), the rest as one small-lettered word, and the number behind it (-1 none).
struct JointName {
  int side = -1;
  std::string word;
  int number = -1;
  int digits = 0;  // it is written with
};
JointName SplitJointName(const std::string& name);

}  // namespace dryrig
