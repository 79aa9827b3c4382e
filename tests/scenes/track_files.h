#pragma once

#include <functional>
#include <string>

#include "tests/scenes/bvh_files.h"

namespace dryrig {

/// How a pose track spells the figure's motion: z up, metres.
struct TrackStyle {
  double rate_hz = 30, start_s = 0, units_per_metre = 1;
  size_t frames = 60;
  std::string head = "t,joint,x,y,z,confidence\n";
  std::function<bool(size_t frame, const std::string& joint)> keep = [](size_t, const std::string&) { return true; };
  std::function<double(size_t frame, const std::string& joint)> confidence = [](size_t, const std::string&) { return 0.9; };
  std::function<Eigen::Vector3d(size_t frame, const std::string& joint)> error = [](size_t, const std::string&) {
    return Eigen::Vector3d(Eigen::Vector3d::Zero());
  };
};

/// Joints of the figure that a tracker of points names, by its index in Figure().
inline const std::vector<std::pair<std::string, size_t>>& TrackedJoints() {
  static const std::vector<std::pair<std::string, size_t>> joints{
      {"pelvis", 0},          {"neck", 3},         {"head", 4},
      {"left_shoulder", 7},   {"left_elbow", 8},   {"left_wrist", 9},
      {"right_shoulder", 12}, {"right_elbow", 13}, {"right_wrist", 14},
      {"left_hip", 16},       {"left_knee", 17},   {"left_ankle", 18},
      {"right_hip", 21},      {"right_knee", 22},  {"right_ankle", 23}};
  return joints;
}

/// Where a joint is, z up.
inline Eigen::Vector3d TrackedAt(size_t joint, double t_s) {
  const Eigen::Vector3d p = FigurePoint(joint, t_s);
  return {p.x(), -p.z(), p.y()};
}

inline std::string WriteTrack(const TrackStyle& style = {}) {
  std::string text = style.head;
  for (size_t f = 0; f < style.frames; ++f) {
    const double t_s = static_cast<double>(f) / style.rate_hz;
    for (const auto& [name, joint] : TrackedJoints()) {
      if (!style.keep(f, name)) continue;
      const Eigen::Vector3d p = style.units_per_metre * (TrackedAt(joint, t_s) + style.error(f, name));
      text += fmt::format("{:.6f},{},{:.9f},{:.9f},{:.9f},{:.3f}\n", style.start_s + t_s, name, p.x(), p.y(), p.z(),
                          style.confidence(f, name));
    }
  }
  return text;
}

}  // namespace dryrig
