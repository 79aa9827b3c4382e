#include "bench/fitted_files.h"

#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <numbers>

#include "scenes/shape_reader.h"
#include "scenes/yaml_node.h"

namespace dryrig {

namespace {

namespace fs = std::filesystem;

/// The text without the top-level keys `keys` and what stands under them.
std::string Without(const std::string& text, const std::vector<std::string>& keys) {
  std::string out;
  bool inside = false;
  for (size_t at = 0; at < text.size();) {
    const size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = text.substr(at, end - at);
    at = end + 1;
    if (!line.empty() && std::isalpha(static_cast<unsigned char>(line[0]))) {
      inside = std::any_of(keys.begin(), keys.end(), [&line](const std::string& key) { return line.starts_with(key + ":"); });
    }
    if (!inside) out += line + "\n";
  }
  return out;
}

/// Angles of turns about fixed x, y, z, in this order.
Eigen::Vector3d RollPitchYaw(const Eigen::Matrix3d& R) {
  const double pitch = std::asin(std::clamp(-R(2, 0), -1.0, 1.0));
  if (std::abs(R(2, 0)) > 1 - 1e-12) return {std::atan2(-R(1, 2), R(1, 1)), pitch, 0};
  return {std::atan2(R(2, 1), R(2, 2)), pitch, std::atan2(R(1, 0), R(0, 0))};
}

}  // namespace

std::string FittedArmText(const std::string& arm_file, const ArmModel& arm, const ServoFit& servo, const Eigen::Isometry3d* X_EC,
                          const std::string& heading) {
  if (fs::path(arm_file).extension() == ".urdf")
    throw InputError(
        fmt::format("{}: a bare URDF has no place for a servo or a mount; write an arm file (.yaml) that names it", arm_file));
  const std::string text = ReadTextFile(arm_file);
  const YamlMap map = YamlNode::Parse(text, arm_file)
                          .Document("arm", {"title", "urdf", "tip", "camera_mount", "home_deg", "home_mm", "limits", "servo",
                                            "payload_kg", "cable"});
  std::vector<std::string> replaced{"urdf", "servo"};
  if (X_EC != nullptr) replaced.push_back("camera_mount");
  std::string out = heading + Without(text, replaced);
  out += fmt::format("urdf: \"{}\"\n",
                     fs::absolute(fs::path(arm_file).parent_path() / map.Text("urdf")).lexically_normal().string());
  out += fmt::format("servo: {{bandwidth_hz: {:.4f}, damping_ratio: {:.4f}, latency_ms: {:.3f}, payload_known: {:.4f}}}\n",
                     servo.bandwidth_hz.value, servo.damping_ratio.value, servo.latency_s.value * 1000, arm.servo.payload_known);
  if (X_EC != nullptr) {
    Eigen::Isometry3d mount = Eigen::Isometry3d::Identity();
    if (const auto node = map.Find("camera_mount"))
      mount = ReadPose(node->In("camera_mount").Map({"at_mm", "rpy_deg"}), {-1000, 1000});
    else
      mount.translation().z() = 0.14;  // the usual one: see ReadArm
    mount = mount * arm.X_EC.inverse() * *X_EC;
    const Eigen::Vector3d at = 1000 * mount.translation(), rpy = RollPitchYaw(mount.linear()) * 180 / std::numbers::pi;
    out += fmt::format("camera_mount:\n  at_mm: [{:.4f}, {:.4f}, {:.4f}]\n  rpy_deg: [{:.5f}, {:.5f}, {:.5f}]\n", at.x(), at.y(),
                       at.z(), rpy.x(), rpy.y(), rpy.z());
  }
  return out;
}

std::string FittedSensingText(const std::string& text, double latency_s) {
  return "# The tracker's latency as fitted to one recording.\n" + Without(text, {"latency_ms"}) +
         fmt::format("latency_ms: {:.1f}\n", std::max(0.0, latency_s) * 1000);
}

}  // namespace dryrig
