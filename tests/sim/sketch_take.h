#pragma once

#include <string>
#include <vector>

#include "sim/take.h"
#include "tests/sim/sketch_person.h"

namespace dryrig::testing {

inline Eigen::Isometry3d At(double x, double y, double z) {
  Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
  X.translation() = Eigen::Vector3d(x, y, z);
  return X;
}

inline Body MakeBody(const std::string& name, const Shape& shape, const Eigen::Isometry3d& X_LS = Eigen::Isometry3d::Identity()) {
  return {name, shape, X_LS};
}

/// A scene with one frame: the sketched person at a bench of 1.6 x 0.7 m whose top is at 0.74 m, a box, a can and a ball on it.
inline Take SketchTake() {
  const SketchPerson person = MakeSketchPerson();
  Take take;
  take.person = person.body;
  take.bench_top = MakeBody("bench", Shape::Box({0.8, 0.35, 0.015}), At(0, 0.35, 0.725));
  take.props = {{"box", Shape::Box({0.06, 0.04, 0.05}), {0.5, 0.5, 0.5}},
                {"can", Shape::Cylinder(0.03, 0.06), {0.5, 0.5, 0.5}},
                {"ball", Shape::Sphere(0.04), {0.5, 0.5, 0.5}}};
  TakeFrame frame;
  frame.X_WC = At(0, 0.6, 1.4);
  frame.lens = {0.018, 0.6};
  frame.person = person.pose;
  frame.X_WP = {At(0, 0.3, 0.79), At(0.2, 0.25, 0.80), At(-0.2, 0.3, 0.78)};
  frame.carrier = {-1, -1, -1};
  take.frames.push_back(frame);
  return take;
}

}  // namespace dryrig::testing
