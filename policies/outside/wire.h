#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cstring>
#include <string>
#include <type_traits>
#include <vector>

#include "scenes/error.h"
#include "sim/policy.h"

namespace dryrig {

// Values as bytes, for two processes of one program on one machine: fields in order, numbers as they lie in memory. One list of
// fields a type, read by both directions: what is written is what is read, to the bit.

/// Collects bytes.
class WireWriter {
 public:
  template <class... T>
  void operator()(const T&... values);
  void Raw(const void* from, size_t size) { bytes_.append(static_cast<const char*>(from), size); }
  const std::string& bytes() const { return bytes_; }

 private:
  std::string bytes_;
};

/// Takes them apart again. @throws RunError where bytes are missing; `Finish` where some are left over.
class WireReader {
 public:
  explicit WireReader(std::string_view bytes) : bytes_(bytes) {}
  template <class... T>
  void operator()(T&... values);
  void Raw(void* into, size_t size) {
    if (size > bytes_.size()) throw RunError("a message between policy and simulator ends too early");
    std::memcpy(into, bytes_.data(), size);
    bytes_.remove_prefix(size);
  }
  size_t left() const { return bytes_.size(); }
  void Finish() const {
    if (!bytes_.empty()) throw RunError("a message between policy and simulator is too long");
  }

 private:
  std::string_view bytes_;
};

namespace wire {

template <class A>
void Fields(A& a, TrackedPoint& v) {
  a(v.p_W, v.seen, v.age_s);
}
template <class A>
void Fields(A& a, TrackedPerson& v) {
  a(v.seen, v.stamp_s, v.points, v.q_WT, v.q_WHd, v.head_height_m, v.hand_length_m);
}
template <class A>
void Fields(A& a, TrackedProp& v) {
  a(v.name, v.p_WP, v.extent_m, v.seen, v.age_s);
}
template <class A>
void Fields(A& a, HeardSentence& v) {
  a(v.end_s, v.heard_s, v.text);
}
template <class A>
void Fields(A& a, ArmState& v) {
  a(v.q, v.qd, v.X_WC);
}
template <class A>
void Fields(A& a, LensState& v) {
  a(v.focal_m, v.focus_m);
}
template <class A>
void Fields(A& a, Subject& v) {
  a(v.kind, v.prop);
}
template <class A>
void Fields(A& a, Shot& v) {
  a(v.subjects, v.size, v.angle, v.composition);
}
template <class A>
void Fields(A& a, CameraTarget& v) {
  a(v.X_WC, v.v_WC, v.w_WC);
}
template <class A>
void Fields(A& a, JointTarget& v) {
  a(v.q);
}
template <class A>
void Fields(A& a, ParamInfo& v) {
  a(v.name, v.unit, v.value, v.lo, v.hi, v.meaning);
}
template <class A>
void Fields(A& a, Shape& v) {
  a(v.kind, v.radius_m, v.half_length_m, v.half_m, v.points);
}
template <class A>
void Fields(A& a, Body& v) {
  a(v.name, v.shape, v.X_LS);
}
template <class A>
void Fields(A& a, Joint& v) {
  a(v.name, v.kind, v.X_PJ, v.axis, v.continuous, v.lower, v.upper, v.velocity, v.acceleration, v.jerk, v.effort, v.damping,
    v.friction);
}
template <class A>
void Fields(A& a, Link& v) {
  a(v.name, v.mass_kg, v.p_LCom, v.I_LCom, v.bodies);
}
template <class A>
void Fields(A& a, Servo& v) {
  a(v.bandwidth_hz, v.damping_ratio, v.latency_s, v.payload_known);
}
template <class A>
void Fields(A& a, ArmModel& v) {
  a(v.name, v.title, v.base, v.joints, v.links, v.X_EC, v.home, v.servo, v.payload_kg, v.notes, v.text);
}
template <class A>
void Fields(A& a, Bench& v) {
  a(v.name, v.title, v.width_m, v.depth_m, v.height_m, v.thickness_m, v.standoff_m, v.X_WB, v.keep_out, v.shelves, v.text);
}
template <class A>
void Fields(A& a, CameraBody& v) {
  a(v.name, v.title, v.sensor_width_m, v.sensor_height_m, v.width_px, v.height_px, v.focal_min_m, v.focal_max_m,
    v.zoom_octaves_per_s, v.focus_nearest_m, v.focus_dioptres_per_s, v.f_number, v.circle_of_confusion_m, v.frame_rate_hz,
    v.mass_kg, v.half_m, v.p_CHousing, v.text);
}
template <class A>
void Fields(A& a, Stage& v) {
  a(v.bench, v.camera, v.arm);
}
template <class A>
void Fields(A& a, Move& v) {
  bool joints = std::holds_alternative<JointTarget>(v.motion);
  a(joints);
  if (joints != std::holds_alternative<JointTarget>(v.motion)) v.motion = JointTarget{};
  std::visit([&a](auto& motion) { a(motion); }, v.motion);
  a(v.focal_m, v.focus_m, v.chosen);
}

/// How many elements follow; what a reader is told is held against the bytes that are left.
inline void Count(WireWriter& a, size_t& n) {
  a.Raw(&n, sizeof n);
}
inline void Count(WireReader& a, size_t& n) {
  a.Raw(&n, sizeof n);
  if (n > a.left()) throw RunError("a message between policy and simulator ends too early");
}

template <class A, class T>
requires std::is_arithmetic_v<T> || std::is_enum_v<T>
void Fields(A& a, T& v) {
  a.Raw(&v, sizeof v);
}
template <class A>
void Fields(A& a, std::string& v) {
  size_t n = v.size();
  Count(a, n);
  v.resize(n);
  a.Raw(v.data(), n);
}
template <class A, class T, int kRows, int kCols, int kOptions, int kMaxRows, int kMaxCols>
void Fields(A& a, Eigen::Matrix<T, kRows, kCols, kOptions, kMaxRows, kMaxCols>& v) {
  if constexpr (kRows == Eigen::Dynamic) {
    size_t n = static_cast<size_t>(v.size());
    Count(a, n);
    v.resize(static_cast<Eigen::Index>(n));
  }
  a.Raw(v.data(), static_cast<size_t>(v.size()) * sizeof(T));
}
template <class A>
void Fields(A& a, Eigen::Isometry3d& v) {
  a(v.matrix());
}
template <class A>
void Fields(A& a, Eigen::Quaterniond& v) {
  a(v.coeffs());
}
template <class A, class T, size_t kSize>
void Fields(A& a, std::array<T, kSize>& v) {
  for (T& one : v) a(one);
}
template <class A, class T>
void Fields(A& a, std::vector<T>& v) {
  size_t n = v.size();
  Count(a, n);
  v.resize(n);
  for (T& one : v) a(one);
}
template <class A>
void Fields(A& a, ParamValues& v) {
  std::vector<std::string> names;
  std::vector<double> values;
  for (const auto& [name, value] : v) names.push_back(name), values.push_back(value);
  a(names, values);
  for (size_t i = 0; i < std::min(names.size(), values.size()); ++i) v[names[i]] = values[i];
}

}  // namespace wire

template <class... T>
void WireWriter::operator()(const T&... values) {
  using wire::Fields;
  (Fields(*this, const_cast<T&>(values)), ...);  // a writer changes nothing
}
template <class... T>
void WireReader::operator()(T&... values) {
  using wire::Fields;
  (Fields(*this, values), ...);
}

}  // namespace dryrig
