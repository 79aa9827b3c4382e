#include "scenes/joint_mapping.h"

#include <fmt/format.h>

#include <algorithm>

#include "scenes/yaml_node.h"

namespace dryrig {

JointMapping ParseJointMapping(const std::string& text, const std::string& file_name) {
  const YamlMap map = YamlNode::Parse(text, file_name).Document("mapping", {"joints"});
  const YamlMap joints = map.At("joints").Map(TrackPointNames());
  JointMapping out;
  out.file_name = file_name;
  std::map<std::string, std::string> taken;
  for (const std::string& point : TrackPointNames()) {
    const auto node = joints.Find(point);
    if (!node) continue;
    std::string name = node->Text(200);
    if (name == "none") name.clear();
    if (!name.empty() && !taken.emplace(name, point).second) {
      node->FailPlain(fmt::format("{}: \"{}\" is {} already; a joint is one point", point, name, taken[name]));
    }
    out.names[*FindTrackPoint(point)] = name;
  }
  return out;
}

JointMap ApplyMapping(const JointMapping& mapping, const std::vector<NamedJoint>& joints) {
  std::vector<std::string> names;
  for (const NamedJoint& joint : joints) {
    names.push_back(joint.end && joint.parent >= 0 ? joints[static_cast<size_t>(joint.parent)].name + " end" : joint.name);
  }
  JointMap map = EmptyJointMap();
  for (const auto& [point, name] : mapping.names) {
    int& joint = map[static_cast<size_t>(point)];
    joint = -2;
    if (name.empty()) continue;
    const auto it = std::find(names.begin(), names.end(), name);
    if (it == names.end()) {
      throw InputError({mapping.file_name}, fmt::format("{}: the file has no joint \"{}\"{}", ToString(point), name.substr(0, 64),
                                                        Suggest(name, names)));
    }
    joint = static_cast<int>(it - names.begin());
  }
  return map;
}

}  // namespace dryrig
