#pragma once

#include <map>
#include <string>
#include <vector>

#include "scenes/joint_names.h"

namespace dryrig {

/// A mapping file: for points of ours what they are called in a file of motion, or that the file has none.
///   dryrig: mapping/1
///   joints: {pelvis: Hueft, left_wrist: HandL, left_thumb: none}
/// Points left out are guessed.
struct JointMapping {
  std::map<TrackPoint, std::string> names;  // empty: none
  std::string file_name;
};
/// @throws InputError (file:line:column).
JointMapping ParseJointMapping(const std::string& text, const std::string& file_name);

/// The mapping on these joints: -1 to be guessed, -2 none. The end of a bone is named by its joint: `Head end`.
/// @throws InputError for a name that no joint has, with the nearest.
JointMap ApplyMapping(const JointMapping& mapping, const std::vector<NamedJoint>& joints);

}  // namespace dryrig
