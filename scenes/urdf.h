#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "scenes/arm.h"
#include "scenes/urdf_xml.h"

namespace dryrig {

/// The serial chain of a URDF from its root link to a tip. Accelerations and jerks are 0: URDF does not say them.
struct UrdfChain {
  std::string tip;
  Link base;
  std::vector<Joint> joints;
  std::vector<Link> links;                                   // one a joint
  Eigen::Isometry3d X_LTip = Eigen::Isometry3d::Identity();  // the tip in the last moving link
  std::vector<std::string> notes;                            // what was assumed
  std::string shapes_text;                                   // the hulls of its meshes, for the content hash
};

/// The link that a camera would be bolted to: where the moving joints stop or branch, and there `tool0`, `flange` or the like.
/// @throws InputError if several arms branch off.
std::string ChooseTip(const UrdfTree& tree);

/// Merges fixed joints, freezes those off the chain, fills in what is missing and notes it.
/// @throws InputError by name for what it refuses. @pre tip is a link of the tree.
UrdfChain ReadUrdfChain(const UrdfTree& tree, const std::string& tip, const std::vector<std::filesystem::path>& package_paths);

}  // namespace dryrig
