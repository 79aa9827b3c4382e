#include "bench/python/convert.h"

#include <fmt/format.h>
#include <pybind11/eigen.h>
#include <pybind11/stl.h>

#include <cmath>
#include <limits>
#include <memory>

#include "scenes/error.h"

namespace dryrig {

namespace {

constexpr double kInf = std::numeric_limits<double>::infinity();

/// Writes numbers into a block, in the order of ObservedArrays.
class Block {
 public:
  explicit Block(size_t size) : values_(std::make_unique<double[]>(size)), size_(size) {}
  void Put(double value) { values_[used_++] = value; }
  template <class V>
  void PutAll(const V& values) {
    for (Eigen::Index i = 0; i < values.size(); ++i) Put(values(i));
  }
  /// Views by name over it all; the block belongs to them now.
  py::dict Release(const std::vector<ObservedArray>& arrays) && {
    if (used_ != size_) throw RunError("an observation's arrays do not fill their block");
    double* at = values_.get();
    const py::capsule owner(values_.release(), [](void* block) { delete[] static_cast<double*>(block); });
    py::dict out;
    for (const ObservedArray& array : arrays) {
      py::array_t<double> view(array.shape, at, owner);
      at += view.size();
      out[py::str(array.name)] = view;
    }
    return out;
  }

 private:
  std::unique_ptr<double[]> values_;
  size_t size_, used_ = 0;
};

size_t SizeOf(const std::vector<ObservedArray>& arrays) {
  size_t all = 0;
  for (const ObservedArray& array : arrays) {
    size_t size = 1;
    for (const py::ssize_t n : array.shape) size *= static_cast<size_t>(n);
    all += size;
  }
  return all;
}

Eigen::VectorXd JointValues(const ArmModel& arm, double Joint::*value) {
  Eigen::VectorXd out(arm.dof());
  for (int j = 0; j < arm.dof(); ++j) out[j] = arm.joints[static_cast<size_t>(j)].*value;
  return out;
}

Move MakeMove(const std::optional<Eigen::VectorXd>& joints, const std::optional<Eigen::Matrix4d>& camera,
              const Eigen::Vector3d& velocity, const Eigen::Vector3d& turning, double focal_m, double focus_m,
              const std::vector<std::string>& subjects, const std::string& size, const std::string& angle,
              const std::string& composition) {
  if (joints.has_value() == camera.has_value()) throw InputError("Move: give either joints or camera");
  Move move;
  if (joints) {
    move.motion = JointTarget{*joints};
  } else {
    CameraTarget target;
    target.X_WC.matrix() = *camera;
    target.v_WC = velocity;
    target.w_WC = turning;
    move.motion = target;
  }
  move.focal_m = focal_m;
  move.focus_m = focus_m;
  move.chosen.subjects.clear();
  for (const std::string& subject : subjects) move.chosen.subjects.push_back(ParseSubject(subject));
  move.chosen.size = ParseShotSize(size);
  move.chosen.angle = ParseShotAngle(angle);
  move.chosen.composition = ParseComposition(composition);
  return move;
}

}  // namespace

std::vector<ObservedArray> ObservedArrays(int joints, size_t props) {
  const auto n = static_cast<py::ssize_t>(props), dof = static_cast<py::ssize_t>(joints), points = py::ssize_t{kNumBodyPoints};
  return {{"time", 0, kInf, {1}},          {"points", -kInf, kInf, {points, 3}},
          {"points_seen", 0, 1, {points}}, {"points_age", 0, kInf, {points}},
          {"torso", -1, 1, {4}},           {"head", -1, 1, {4}},
          {"props", -kInf, kInf, {n, 3}},  {"props_seen", 0, 1, {n}},
          {"props_age", 0, kInf, {n}},     {"props_extent", 0, kInf, {n}},
          {"joints", -kInf, kInf, {dof}},  {"joint_speeds", -kInf, kInf, {dof}},
          {"camera", -kInf, kInf, {4, 4}}, {"lens", 0, kInf, {2}}};
}

py::dict ToPython(const Observation& seen) {
  const std::vector<ObservedArray> arrays = ObservedArrays(seen.stage.arm.dof(), seen.props.size());
  Block block(SizeOf(arrays));
  block.Put(seen.t_s);
  for (const TrackedPoint& point : seen.person.points) block.PutAll(point.p_W);
  for (const TrackedPoint& point : seen.person.points) block.Put(point.seen);
  for (const TrackedPoint& point : seen.person.points) block.Put(point.age_s);
  block.PutAll(seen.person.q_WT.coeffs());
  block.PutAll(seen.person.q_WHd.coeffs());
  for (const TrackedProp& prop : seen.props) block.PutAll(prop.p_WP);
  for (const TrackedProp& prop : seen.props) block.Put(prop.seen);
  for (const TrackedProp& prop : seen.props) block.Put(prop.age_s);
  for (const TrackedProp& prop : seen.props) block.Put(prop.extent_m);
  block.PutAll(seen.arm.q);
  block.PutAll(seen.arm.qd);
  for (int row = 0; row < 4; ++row) block.PutAll(seen.arm.X_WC.matrix().row(row));
  block.Put(seen.lens.focal_m);
  block.Put(seen.lens.focus_m);
  return std::move(block).Release(arrays);
}

py::list HeardToPython(std::span<const HeardSentence> heard) {
  py::list out;
  for (const HeardSentence& sentence : heard) out.append(py::make_tuple(sentence.text, sentence.end_s, sentence.heard_s));
  return out;
}

py::dict ToPython(const Stage& stage) {
  py::dict out;
  py::list names;
  for (const Joint& joint : stage.arm.joints) names.append(joint.name);
  out["joint_names"] = names;
  out["lower"] = JointValues(stage.arm, &Joint::lower);
  out["upper"] = JointValues(stage.arm, &Joint::upper);
  out["velocity"] = JointValues(stage.arm, &Joint::velocity);
  out["acceleration"] = JointValues(stage.arm, &Joint::acceleration);
  out["home"] = stage.arm.home;
  out["base"] = Eigen::Matrix4d(stage.bench.X_WB.matrix());
  const CameraBody& camera = stage.camera;
  out["sensor_m"] = py::make_tuple(camera.sensor_width_m, camera.sensor_height_m);
  out["focal_m"] = py::make_tuple(camera.focal_min_m, camera.focal_max_m);
  out["focus_nearest_m"] = camera.focus_nearest_m;
  out["bench_m"] = py::make_tuple(stage.bench.width_m, stage.bench.depth_m, stage.bench.height_m);
  return out;
}

void BindMove(py::module_& module) {
  const Eigen::Vector3d still = Eigen::Vector3d::Zero();
  py::class_<Move>(
      module, "Move",
      "What is wanted now: `joints` (rad, m) or `camera` (X_WC, 4x4) with its velocity and turning in W (m/s, rad/s);\n"
      "lens in metres, left out: the shortest focal length, focus on the tracked hands; and the shot that this is.")
      .def(py::init(&MakeMove), py::kw_only(), py::arg("joints") = py::none(), py::arg("camera") = py::none(),
           py::arg("velocity") = still, py::arg("turning") = still, py::arg("focal_m") = 0, py::arg("focus_m") = 0,
           py::arg("subjects") = std::vector<std::string>{"hands"}, py::arg("size") = "close-up", py::arg("angle") = "high-angle",
           py::arg("composition") = "centre");
}

Move Filled(Move move, const Observation& seen) {
  const CameraBody& camera = seen.stage.camera;
  if (move.focal_m == 0) move.focal_m = camera.focal_min_m;
  if (move.focus_m == 0) {
    const auto& points = seen.person.points;
    const Eigen::Vector3d hands_W = 0.5 * (points[HandPoint(kLeft, 9)].p_W + points[HandPoint(kRight, 9)].p_W);
    const double depth_m = (seen.arm.X_WC.inverse() * hands_W).z();
    move.focus_m = std::isfinite(depth_m) ? std::max(depth_m, camera.focus_nearest_m) : camera.focus_nearest_m;
  }
  return move;
}

}  // namespace dryrig
