#pragma once

#include <fmt/format.h>

#include <bit>
#include <cmath>
#include <string>
#include <type_traits>
#include <vector>

#include "sim/rng.h"
#include "sim/take.h"

namespace dryrig::testing {

/// Numbers that a careless format would change: every double here has 53 random bits; now and then one is special.
class Numbers {
 public:
  double Real() {
    static const std::vector<double> kSpecial{-0.0, 5e-324, 1e308, HUGE_VAL, -HUGE_VAL, 0.1, 1.0 / 3};
    const uint64_t n = next_++;
    if (n % 11 == 3) return kSpecial[n / 11 % kSpecial.size()];
    return stream_.Uniform(-2, 2);
  }
  Eigen::VectorXd Reals(int n) {
    Eigen::VectorXd out(n);
    for (double& value : out) value = Real();
    return out;
  }
  Eigen::Vector3d Point() { return Reals(3); }
  Eigen::Quaterniond Quaternion() { return {Real(), Real(), Real(), Real()}; }
  Eigen::Isometry3d Pose() {
    Eigen::Isometry3d X = Eigen::Isometry3d::Identity();
    for (int i = 0; i < 12; ++i) X(i / 4, i % 4) = Real();
    return X;
  }
  Shape AnyShape(ShapeKind kind) {
    Shape shape{kind, Real(), Real(), Point(), {}};
    if (kind == ShapeKind::kHull) shape.points = {Point(), Point(), Point(), Point()};
    return shape;
  }
  Body AnyBody(const char* name, ShapeKind kind) { return {name, AnyShape(kind), Pose()}; }

 private:
  RandomStream stream_{7, "store test"};
  uint64_t next_ = 0;
};

inline Shot CloseUpOf(const char* prop) {
  return {
      {{SubjectKind::kProp, prop}, {SubjectKind::kFace, ""}}, ShotSize::kCloseUp, ShotAngle::kOverhead, Composition::kUpperLeft};
}

inline Take MakeTake(int frames = 5, int dof = 6, int props = 2) {
  Numbers n;
  Take take;
  take.id = {"lesson \"one\"",
             "planner",
             "arm",
             "bench",
             "person",
             "camera",
             "good",
             "a=0.1 b=-3",
             18'446'744'073'709'551'615u,
             240,
             30,
             30,
             "00ff"};
  take.duration_s = n.Real();
  take.beats = {{n.Real(), n.Real(), n.Real(), 0, "reach"}, {n.Real(), n.Real(), n.Real(), 1, "point at thread — näher"}};
  take.intents = {{n.Real(), n.Real(), CloseUpOf("awl"), 1}};
  take.faults.at_s = n.Real(), take.faults.payload_kg = n.Real(), take.faults.stuck_joint = 3, take.faults.power_lost = true;
  take.faults.brake_delay_s = n.Real(), take.faults.brake_share = n.Real(), take.faults.tracker_frozen_s = n.Real();
  take.faults.bench_m = {n.Real(), n.Real()};
  take.faults.lunges = {{n.Real(), {n.Real(), n.Real(), n.Real()}, n.Real(), n.Real()}};
  take.governed = {{GovernorState::kWatch, n.Real(), n.Real()}, {GovernorState::kRetreat, n.Real(), n.Real()}};
  take.startles = {{n.Real(), n.Point(), n.Real()}, {n.Real(), n.Point(), n.Real()}};
  take.sentences = {{n.Real(), n.Real(), "Notice the \"wax\",\nright up close."}};
  take.camera = {"c",      "title",  n.Real(), n.Real(), 1280,     720,      n.Real(),  n.Real(),  n.Real(),
                 n.Real(), n.Real(), n.Real(), n.Real(), n.Real(), n.Real(), n.Point(), n.Point(), "dryrig: camera/1\n"};
  take.person.capsules = {{"left forearm", kElbowL, kWristL, n.Real(), "lower arm"},
                          {"skull", kHeadLow, kHeadHigh, n.Real(), "skull"}};
  take.person.face_points = {n.Point(), n.Point(), n.Point()};
  take.person.head_height_m = n.Real();
  take.person.hand_length_m = n.Real();
  take.bench_top = n.AnyBody("bench", ShapeKind::kBox);
  take.keep_out = {n.AnyBody("lamp", ShapeKind::kCylinder)};
  take.X_WB = n.Pose();
  take.arm_bodies = {{-1, n.AnyBody("base", ShapeKind::kHull)}, {3, n.AnyBody("camera", ShapeKind::kCapsule)}};
  for (int i = 0; i < dof; ++i)
    take.joints.push_back({fmt::format("joint, {}", i), n.Real(), n.Real(), n.Real(), n.Real(), n.Real(), i % 2 == 1});
  take.moving_mass_kg = n.Real();
  take.payload_kg = n.Real();
  for (int i = 0; i < props; ++i)
    take.props.push_back({fmt::format("prop {}", i), n.AnyShape(ShapeKind::kSphere), n.Point(), n.Point()});
  for (int i = 0; i < frames; ++i) {
    TakeFrame frame;
    frame.X_WC = n.Pose();
    frame.lens = {n.Real(), n.Real()};
    for (Eigen::Vector3d& point : frame.person.p_W) point = n.Point();
    frame.person.q_WT = n.Quaternion();
    frame.person.q_WHd = n.Quaternion();
    frame.person.gaze_W = n.Point();
    frame.person.hand_in_use = {i % 2 == 0, i % 3 == 0};
    for (int j = 0; j < props; ++j) frame.X_WP.push_back(n.Pose());
    for (int j = 0; j < props; ++j) frame.carrier.push_back(j - 1);
    for (int j = 0; j < dof; ++j) frame.X_WL.push_back(n.Pose());
    frame.chosen = i < 2 ? Shot{} : CloseUpOf(i % 2 == 0 ? "awl" : "thread");
    frame.manipulability = n.Real();
    frame.unreachable = i == 3;
    take.frames.push_back(frame);
  }
  for (int i = 0; i < 8 * frames; ++i) {
    TakeTick tick;
    tick.p_WC = n.Point();
    tick.q_WC = n.Quaternion();
    tick.q = n.Reals(dof);
    tick.qd = n.Reals(dof);
    tick.q_wish = n.Reals(dof);
    tick.torque = n.Reals(dof);
    tick.clearance = {n.Real(), i % 2, i % 3 - 1, n.Point(), n.Point()};
    tick.approach_mps = n.Real();
    take.ticks.push_back(tick);
  }
  return take;
}

// A comparison apart from the store's own description of a take. Structured bindings name every field: a new one does not compile
// until it is compared here too.
inline bool SameBits(double a, double b) {
  return std::bit_cast<uint64_t>(a) == std::bit_cast<uint64_t>(b);
}
template <class T>
inline bool Same(const T& a, const T& b) requires std::is_integral_v<T> || std::is_enum_v<T> || std::is_same_v<T, std::string> {
  return a == b;
}
inline bool Same(double a, double b) {
  return SameBits(a, b);
}
template <class D>
inline bool Same(const Eigen::MatrixBase<D>& a, const Eigen::MatrixBase<D>& b) {
  if (a.size() != b.size()) return false;
  for (Eigen::Index i = 0; i < a.size(); ++i) {
    if (!SameBits(a.derived().data()[i], b.derived().data()[i])) return false;
  }
  return true;
}
inline bool Same(const Eigen::Isometry3d& a, const Eigen::Isometry3d& b) {
  return Same(a.matrix(), b.matrix());
}
inline bool Same(const Eigen::Quaterniond& a, const Eigen::Quaterniond& b) {
  return Same(a.coeffs(), b.coeffs());
}
inline bool Same(const Shot& a, const Shot& b) {
  return a == b;
}
template <class T>
inline bool SameAll(const T& a, const T& b, auto&& same) {
  if (a.size() != b.size()) return false;
  for (size_t i = 0; i < a.size(); ++i) {
    if (!same(a[i], b[i])) return false;
  }
  return true;
}
inline bool SameShape(const Shape& a, const Shape& b) {
  const auto& [kind, radius, half_length, half, points] = a;
  return kind == b.kind && Same(radius, b.radius_m) && Same(half_length, b.half_length_m) && Same(half, b.half_m) &&
         SameAll(points, b.points, [](auto& x, auto& y) { return Same(x, y); });
}
inline bool SameBody(const Body& a, const Body& b) {
  const auto& [name, shape, X] = a;
  return name == b.name && SameShape(shape, b.shape) && Same(X, b.X_LS);
}
inline bool SamePose(const BodyPose& a, const BodyPose& b) {
  const auto& [p_W, q_WT, q_WHd, gaze, used] = a;
  return SameAll(p_W, b.p_W, [](auto& x, auto& y) { return Same(x, y); }) && Same(q_WT, b.q_WT) && Same(q_WHd, b.q_WHd) &&
         Same(gaze, b.gaze_W) && used == b.hand_in_use;
}
inline bool SameFrame(const TakeFrame& a, const TakeFrame& b) {
  const auto& [X_WC, lens, person, X_WP, carrier, X_WL, chosen, manipulability, unreachable] = a;
  const auto& [focal_m, focus_m] = lens;
  const auto same = [](auto& x, auto& y) { return Same(x, y); };
  return Same(X_WC, b.X_WC) && Same(focal_m, b.lens.focal_m) && Same(focus_m, b.lens.focus_m) && SamePose(person, b.person) &&
         SameAll(X_WP, b.X_WP, same) && carrier == b.carrier && SameAll(X_WL, b.X_WL, same) && Same(chosen, b.chosen) &&
         Same(manipulability, b.manipulability) && unreachable == b.unreachable;
}
inline bool SameTick(const TakeTick& a, const TakeTick& b) {
  const auto& [p_WC, q_WC, q, qd, q_wish, torque, clearance, approach] = a;
  const auto& [distance, arm_body, capsule, p_WArm, p_WPerson] = clearance;
  return Same(p_WC, b.p_WC) && Same(q_WC, b.q_WC) && Same(q, b.q) && Same(qd, b.qd) && Same(q_wish, b.q_wish) &&
         Same(torque, b.torque) && Same(distance, b.clearance.distance_m) && arm_body == b.clearance.arm_body &&
         capsule == b.clearance.capsule && Same(p_WArm, b.clearance.p_WArm) && Same(p_WPerson, b.clearance.p_WPerson) &&
         Same(approach, b.approach_mps);
}
inline bool SameCamera(const CameraBody& a, const CameraBody& b) {
  const auto& [name, title, w, h, wpx, hpx, fmin, fmax, zoom, nearest, speed, number, circle, rate, mass, half, housing, text] =
      a;
  return name == b.name && title == b.title && Same(w, b.sensor_width_m) && Same(h, b.sensor_height_m) && wpx == b.width_px &&
         hpx == b.height_px && Same(fmin, b.focal_min_m) && Same(fmax, b.focal_max_m) && Same(zoom, b.zoom_octaves_per_s) &&
         Same(nearest, b.focus_nearest_m) && Same(speed, b.focus_dioptres_per_s) && Same(number, b.f_number) &&
         Same(circle, b.circle_of_confusion_m) && Same(rate, b.frame_rate_hz) && Same(mass, b.mass_kg) && Same(half, b.half_m) &&
         Same(housing, b.p_CHousing) && text == b.text;
}
inline bool SamePerson(const PersonBody& a, const PersonBody& b) {
  const auto& [capsules, face_points, head, hand] = a;
  return SameAll(capsules, b.capsules,
                 [](const PersonCapsule& x, const PersonCapsule& y) {
                   const auto& [name, from, to, radius, region] = x;
                   return name == y.name && from == y.a && to == y.b && Same(radius, y.radius_m) && region == y.region;
                 }) &&
         SameAll(face_points, b.face_points, [](auto& x, auto& y) { return Same(x, y); }) && Same(head, b.head_height_m) &&
         Same(hand, b.hand_length_m);
}
inline bool SameIdentity(const TakeIdentity& a, const TakeIdentity& b) {
  const auto& [lesson, policy, arm, bench, person, camera, sensing, params, seed, physics, control, frame, hash] = a;
  return lesson == b.lesson && policy == b.policy && arm == b.arm && bench == b.bench && person == b.person &&
         camera == b.camera && sensing == b.sensing && params == b.params && seed == b.seed && Same(physics, b.physics_hz) &&
         Same(control, b.control_hz) && Same(frame, b.frame_hz) && hash == b.inputs_hash;
}
/// Empty: equal bit for bit; else the first field that differs.
inline std::string Difference(const Take& a, const Take& b) {
  const auto& [id, duration, beats, intents, sentences, camera, person, bench_top, keep_out, X_WB, arm_bodies, joints, mass,
               payload, props, startles, governed, faults, frames, ticks] = a;
  if (!SameIdentity(id, b.id)) return "id";
  if (!Same(duration, b.duration_s)) return "duration";
  if (!SameAll(beats, b.beats, [](const TimedBeat& x, const TimedBeat& y) {
        const auto& [start, ready, end, beat, label] = x;
        return Same(start, y.start_s) && Same(ready, y.ready_s) && Same(end, y.end_s) && beat == y.beat && label == y.label;
      }))
    return "beats";
  if (!SameAll(intents, b.intents, [](const TimedIntent& x, const TimedIntent& y) {
        const auto& [start, end, shot, beat] = x;
        return Same(start, y.start_s) && Same(end, y.end_s) && shot == y.shot && beat == y.beat;
      }))
    return "intents";
  if (!SameAll(sentences, b.sentences, [](const Sentence& x, const Sentence& y) {
        const auto& [start, end, text] = x;
        return Same(start, y.start_s) && Same(end, y.end_s) && text == y.text;
      }))
    return "sentences";
  if (!SameCamera(camera, b.camera)) return "camera";
  if (!SamePerson(person, b.person)) return "person";
  if (!SameBody(bench_top, b.bench_top)) return "bench top";
  if (!SameAll(keep_out, b.keep_out, SameBody)) return "keep-out";
  if (!Same(X_WB, b.X_WB)) return "arm base";
  if (!SameAll(arm_bodies, b.arm_bodies,
               [](const ArmBody& x, const ArmBody& y) { return x.link == y.link && SameBody(x.body, y.body); }))
    return "arm bodies";
  if (!SameAll(joints, b.joints, [](const JointLimit& x, const JointLimit& y) {
        const auto& [name, lower, upper, velocity, acceleration, effort, prismatic] = x;
        return name == y.name && Same(lower, y.lower) && Same(upper, y.upper) && Same(velocity, y.velocity) &&
               Same(acceleration, y.acceleration) && Same(effort, y.effort) && prismatic == y.prismatic;
      }))
    return "joints";
  if (!Same(mass, b.moving_mass_kg) || !Same(payload, b.payload_kg)) return "masses";
  if (!SameAll(props, b.props, [](const TakeProp& x, const TakeProp& y) {
        return x.name == y.name && SameShape(x.shape, y.shape) && Same(x.colour, y.colour) && Same(x.tip_m, y.tip_m);
      }))
    return "props";
  if (!SameAll(governed, b.governed, [](const GovernedSpell& x, const GovernedSpell& y) {
        const auto& [state, start, end] = x;
        return state == y.state && Same(start, y.start_s) && Same(end, y.end_s);
      }))
    return "governed";
  const auto& [at_s, stuck, frozen_s, load_kg, power, delay_s, share, bench_m, lunges] = faults;
  if (!Same(at_s, b.faults.at_s) || stuck != b.faults.stuck_joint || !Same(frozen_s, b.faults.tracker_frozen_s) ||
      !Same(load_kg, b.faults.payload_kg) || power != b.faults.power_lost || !Same(delay_s, b.faults.brake_delay_s) ||
      !Same(share, b.faults.brake_share) || !Same(bench_m.x(), b.faults.bench_m.x()) ||
      !Same(bench_m.y(), b.faults.bench_m.y()) || !SameAll(lunges, b.faults.lunges, [](const Lunge& x, const Lunge& y) {
        const auto& [start_s, way_W, speed_mps, travel_m] = x;
        return Same(start_s, y.start_s) && Same(way_W, y.way_W) && Same(speed_mps, y.speed_mps) && Same(travel_m, y.travel_m);
      }))
    return "faults";
  if (!SameAll(startles, b.startles, [](const Startle& x, const Startle& y) {
        const auto& [start, away, lean] = x;
        return Same(start, y.start_s) && Same(away, y.away_W) && Same(lean, y.lean);
      }))
    return "startles";
  if (!SameAll(frames, b.frames, SameFrame)) return "frames";
  if (!SameAll(ticks, b.ticks, SameTick)) return "ticks";
  return "";
}

}  // namespace dryrig::testing
