#pragma once

#include <fmt/format.h>

#include <Eigen/Geometry>
#include <cmath>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

namespace dryrig {

/// A joint of the figure below: y up, facing z, its left along x, metres; arms stretched sideways at rest.
struct FigureJoint {
  const char* name;  // as one common habit has it
  int parent;
  Eigen::Vector3d offset;
  bool end = false;
};

inline const std::vector<FigureJoint>& Figure() {
  static const std::vector<FigureJoint> joints{
      {"Hips", -1, {0, 0, 0}},
      {"Spine", 0, {0, 0.12, -0.01}},
      {"Spine1", 1, {0, 0.20, -0.01}},
      {"Neck", 2, {0, 0.20, 0.01}},
      {"Head", 3, {0, 0.09, 0.02}},
      {"end", 4, {0, 0.19, 0.0}, true},
      {"LeftShoulder", 2, {0.05, 0.14, 0}},
      {"LeftArm", 6, {0.13, 0.01, 0}},
      {"LeftForeArm", 7, {0.29, 0, 0}},
      {"LeftHand", 8, {0.25, 0, 0}},
      {"end", 9, {0.17, 0, 0}, true},
      {"RightShoulder", 2, {-0.05, 0.14, 0}},
      {"RightArm", 11, {-0.13, 0.01, 0}},
      {"RightForeArm", 12, {-0.29, 0, 0}},
      {"RightHand", 13, {-0.25, 0, 0}},
      {"end", 14, {-0.17, 0, 0}, true},
      {"LeftUpLeg", 0, {0.09, -0.04, 0}},
      {"LeftLeg", 16, {0, -0.42, 0}},
      {"LeftFoot", 17, {0, -0.41, 0}},
      {"LeftToeBase", 18, {0, -0.05, 0.13}},
      {"end", 19, {0, 0, 0.06}, true},
      {"RightUpLeg", 0, {-0.09, -0.04, 0}},
      {"RightLeg", 21, {0, -0.42, 0}},
      {"RightFoot", 22, {0, -0.41, 0}},
      {"RightToeBase", 23, {0, -0.05, 0.13}},
      {"end", 24, {0, 0, 0.06}, true},
  };
  return joints;
}

/// The figure's turn of a joint at a frame, in its own rest axes: arms that work in front of it, a head that looks about.
inline Eigen::Quaterniond FigureTurn(size_t joint, double t_s) {
  const auto about = [](double angle, const Eigen::Vector3d& axis) { return Eigen::Quaterniond(Eigen::AngleAxisd(angle, axis)); };
  const Eigen::Vector3d x = Eigen::Vector3d::UnitX(), y = Eigen::Vector3d::UnitY(), z = Eigen::Vector3d::UnitZ();
  const double a = std::sin(2 * t_s), b = std::cos(1.3 * t_s);
  const std::string name = Figure()[joint].name;
  if (name == "Hips") return about(0.3 + 0.1 * a, y) * about(0.05 * b, x);
  if (name == "Spine1") return about(0.15 + 0.05 * b, x) * about(0.1 * a, z);
  if (name == "Head") return about(0.4 * a, y) * about(0.3 + 0.1 * b, x);
  if (name == "LeftArm") return about(-0.8 - 0.2 * a, y) * about(-1.0 + 0.1 * b, z);
  if (name == "RightArm") return about(0.8 + 0.2 * b, y) * about(1.0 - 0.1 * a, z);
  if (name == "LeftForeArm") return about(-0.9 - 0.3 * b, y);
  if (name == "RightForeArm") return about(0.9 + 0.3 * a, y);
  if (name == "LeftHand") return about(0.3 * a, z) * about(0.4 * b, x);
  if (name == "RightHand") return about(-0.3 * b, z) * about(0.4 * a, x);
  if (name == "LeftUpLeg") return about(-0.1 + 0.05 * a, x);
  if (name == "RightLeg") return about(0.2 + 0.05 * b, x);
  return Eigen::Quaterniond::Identity();
}

inline Eigen::Vector3d FigureRoot(double t_s) {
  return {0.1 * std::sin(t_s), 0.92, 0.05 * std::cos(0.7 * t_s)};
}

/// How a file spells the figure.
struct BvhStyle {
  std::string order = "ZXY";                          // of the rotations, every joint's
  std::function<std::string(size_t joint)> order_of;  // overrides `order`
  double units_per_metre = 100;
  Eigen::Matrix3d R_FileFigure = Eigen::Matrix3d::Identity();
  std::function<std::string(const std::string&)> name = [](const std::string& n) { return n; };
  std::string line_end = "\n", indent = "  ";
  bool offsets_zero = false;          // with positions_everywhere: they alone hold the bones' lengths
  bool positions_everywhere = false;  // six channels a joint, their positions holding the offsets
  bool frozen = false;                // as at the first frame all the time
  double walk_mps = 0;                // ahead
  size_t frames = 60;
  double frame_time_s = 1.0 / 60;
};

inline std::vector<double> Angles_deg(const Eigen::Quaterniond& q, const std::string& order) {
  const auto axis = [&](size_t i) { return order[i] - 'X'; };
  const Eigen::Vector3d angles = q.toRotationMatrix().eulerAngles(axis(0), axis(1), axis(2));
  return {angles[0] * 180 / std::numbers::pi, angles[1] * 180 / std::numbers::pi, angles[2] * 180 / std::numbers::pi};
}

inline std::string WriteBvh(const BvhStyle& style = {}) {
  const auto& joints = Figure();
  const auto order_of = [&](size_t j) { return style.order_of ? style.order_of(j) : style.order; };
  std::string text = "HIERARCHY" + style.line_end;
  const auto turned = [&](const Eigen::Vector3d& v) -> Eigen::Vector3d {
    return style.units_per_metre * (style.R_FileFigure * v);
  };
  std::function<void(size_t, int)> write = [&](size_t j, int depth) {
    std::string pad;
    for (int i = 0; i < depth; ++i) pad += style.indent;
    const std::string kind =
        joints[j].end ? "End Site" : (joints[j].parent < 0 ? "ROOT " : "JOINT ") + style.name(joints[j].name);
    const bool zero = style.offsets_zero && !joints[j].end;
    const Eigen::Vector3d offset = zero ? Eigen::Vector3d(Eigen::Vector3d::Zero()) : turned(joints[j].offset);
    text += pad + kind + style.line_end + pad + "{" + style.line_end;
    text += pad + style.indent + fmt::format("OFFSET {:.9f} {:.9f} {:.9f}", offset.x(), offset.y(), offset.z()) + style.line_end;
    if (!joints[j].end) {
      const bool six = joints[j].parent < 0 || style.positions_everywhere;
      const std::string order = order_of(j);
      text += pad + style.indent +
              fmt::format("CHANNELS {} {}{}rotation {}rotation {}rotation", six ? 6 : 3,
                          six ? "Xposition Yposition Zposition " : "", order[0], order[1], order[2]) +
              style.line_end;
    }
    for (size_t child = j + 1; child < joints.size(); ++child) {
      if (joints[child].parent == static_cast<int>(j)) write(child, depth + 1);
    }
    text += pad + "}" + style.line_end;
  };
  write(0, 0);
  text += "MOTION" + style.line_end + fmt::format("Frames: {}", style.frames) + style.line_end;
  text += fmt::format("Frame Time: {:.9f}", style.frame_time_s) + style.line_end;
  for (size_t f = 0; f < style.frames; ++f) {
    const double t_s = style.frozen ? 0 : static_cast<double>(f) * style.frame_time_s;
    std::string row;
    const auto add = [&](double value) { row += fmt::format("{}{:.12f}", row.empty() ? "" : " ", value); };
    std::function<void(size_t)> put = [&](size_t j) {
      if (joints[j].end) return;
      const bool root = joints[j].parent < 0;
      if (root || style.positions_everywhere) {
        const Eigen::Vector3d p =
            turned(root ? Eigen::Vector3d(FigureRoot(t_s) + style.walk_mps * t_s * Eigen::Vector3d::UnitZ()) : joints[j].offset);
        for (int i = 0; i < 3; ++i) add(p[i]);
      }
      // The same turn seen in the file's axes.
      const Eigen::Quaterniond q(style.R_FileFigure * FigureTurn(j, t_s).toRotationMatrix() * style.R_FileFigure.transpose());
      for (const double angle : Angles_deg(q, order_of(j))) add(angle);
      for (size_t child = j + 1; child < joints.size(); ++child) {
        if (joints[child].parent == static_cast<int>(j)) put(child);
      }
    };
    put(0);
    text += row + style.line_end;
  }
  return text;
}

/// Where a joint of the figure is at a time, y up, metres.
inline Eigen::Vector3d FigurePoint(size_t joint, double t_s) {
  const auto place = [&](size_t j) { return Figure()[j].parent < 0 ? FigureRoot(t_s) : Figure()[j].offset; };
  Eigen::Vector3d p = place(joint);
  for (int j = Figure()[joint].parent; j >= 0; j = Figure()[static_cast<size_t>(j)].parent) {
    p = FigureTurn(static_cast<size_t>(j), t_s) * p + place(static_cast<size_t>(j));
  }
  return p;
}

}  // namespace dryrig
