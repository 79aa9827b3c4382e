#pragma once

#include <map>
#include <memory>
#include <string>

#include "scenes/error.h"

namespace urdf {
class ModelInterface;
}

namespace dryrig {

/// A URDF as urdfdom understands it: one root, no loops, every number finite and of a size that a robot can have.
struct UrdfTree {
  std::shared_ptr<const urdf::ModelInterface> model;
  std::string file;
  std::string complaints;  // what urdfdom calls errors and yet passes over; empty: none
  std::map<std::string, int> link_lines, joint_lines;

  /// `file:line: link "name": message`. @throws InputError, always.
  [[noreturn]] void FailLink(const std::string& name, const std::string& message) const;
  [[noreturn]] void FailJoint(const std::string& name, const std::string& message) const;
};

/// Checks the XML, then lets urdfdom parse what belongs to an arm (links and joints; not materials, transmissions, plug-ins).
/// Reads numbers alike in every locale and prints nothing. @throws InputError `file:line: who: what`.
UrdfTree ParseUrdf(const std::string& text, const std::string& file);

}  // namespace dryrig
