#pragma once

#include <fmt/format.h>

#include <array>
#include <functional>
#include <map>
#include <numbers>
#include <string>
#include <vector>

#include "sim/distance.h"
#include "sim/skeleton.h"
#include "sim/solid.h"
#include "tests/sim/joint_angles.h"
#include "tests/sim/shipped_cast.h"

namespace dryrig::testing {

/// How far a performance comes to, or over, each of a person's bounds: positive is over it. One worst moment each.
struct Fault {
  double over = -1e9;  // in `unit`
  double t_s = 0;
  std::string what, unit;
};
using Faults = std::map<std::string, Fault>;

/// What is asked at an instant; a broken twin replaces one of the two.
struct Motion {
  std::function<BodyPose(double)> pose;
  std::function<std::vector<PropPose>(double)> props;
};

inline Motion MotionOf(const Performance& p) {
  return {[&p](double t) { return p.PoseAt(t); }, [&p](double t) { return p.PropsAt(t); }};
}

/// Looks at a performance every `step_s`.
class MotionInspector {
 public:
  MotionInspector(const Cast& cast, const Performance& performance, const Motion& motion)
      : cast_(cast), p_(performance), motion_(motion), build_(BuildPerson(cast.person, cast.bench)) {
    const auto& capsules = p_.body().capsules;
    for (size_t i = 0; i < capsules.size(); ++i) {
      const PersonCapsule& c = capsules[i];
      const bool limb = c.region == "hand" || c.region == "lower arm";
      if (limb) limbs_[c.name.starts_with("left") ? kLeft : kRight].push_back(i);
      // Upper arms adjoin the trunk and the forearms; shoulders, shanks and feet are out of a hand's way or adjoin the upper arm.
      const bool trunk = c.name == "head" || c.name == "neck" || c.name == "chest" || c.name == "upper chest" ||
                         c.name == "abdomen" || c.name == "pelvis" || c.name.ends_with("breast") || c.name.ends_with("thigh");
      if (trunk) trunk_.push_back(i);
    }
    still_.push_back(BenchTop(cast.bench));
    still_.insert(still_.end(), cast.bench.shelves.begin(), cast.bench.shelves.end());
    for (const Body& body : still_) solids_.push_back(MakeSolid(body.shape, body.X_LS));
    first_ = motion_.pose(0);
  }

  Faults Look(double step_s) {
    for (double t = 0; t <= p_.duration_s(); t += step_s) At(t);
    Work();
    return faults_;
  }

 private:
  static constexpr double kDeg = std::numbers::pi / 180;

  void Note(const std::string& check, double over, double t, const std::string& unit, const std::function<std::string()>& what) {
    Fault& fault = faults_[check];
    if (over <= fault.over) return;
    fault = {over, t, what(), unit};
  }
  void At(double t) {
    const BodyPose pose = motion_.pose(t);
    Joints(pose, t);
    Limbs(pose, t);
    Bench(pose, t);
    Ground(pose, t);
    Speeds(t);
    Grips(pose, t);
  }

  // American Academy of Orthopaedic Surgeons (table A.1 of a public textbook; the neck from memory).
  void Joints(const BodyPose& pose, double t) {
    const JointAngles a = AnglesOf(pose, p_.body().hand_length_m);
    const auto within = [&](const char* joint, double angle, double lo_deg, double hi_deg) {
      Note("joint range", std::max(lo_deg - angle / kDeg, angle / kDeg - hi_deg), t, "deg",
           [&] { return fmt::format("{} at {:.1f}", joint, angle / kDeg); });
    };
    within("neck rotation", a.neck_yaw, -60, 60);
    within("neck flexion", a.neck_pitch, -45, 45);
    for (const auto& arm : a.arm) {
      within("elbow", arm.elbow, 0, 150);
      within("shoulder extension", arm.shoulder_extension, -180, 60);
      within("shoulder rotation", arm.shoulder_medial, -90, 70);
      within("pronation", arm.pronation, -80, 80);
      within("wrist extension", arm.wrist_extension, -80, 70);
      within("wrist deviation", arm.wrist_radial, -30, 20);
    }
  }

  double Gap(const BodyPose& pose, size_t a, size_t b) const {
    const PersonCapsule& ca = p_.body().capsules[a];
    const PersonCapsule& cb = p_.body().capsules[b];
    const auto at = [&](int point) -> const Eigen::Vector3d& { return pose.p_W[static_cast<size_t>(point)]; };
    return std::sqrt(NearestOnSegments(at(ca.a), at(ca.b), at(cb.a), at(cb.b)).squared_m2) - ca.radius_m - cb.radius_m;
  }

  // A forearm adjoins its own hand and upper arm; both hands meet where they work on one thing or hand it over.
  void Limbs(const BodyPose& pose, double t) {
    const auto note = [&](const char* check, size_t a, size_t b) {
      Note(check, -1e3 * Gap(pose, a, b), t, "mm",
           [&] { return fmt::format("{} in {}", p_.body().capsules[a].name, p_.body().capsules[b].name); });
    };
    for (const Side side : {kLeft, kRight}) {
      for (const size_t limb : limbs_[side]) {
        for (const size_t part : trunk_) note("limb in body", limb, part);
      }
    }
    // They part from it in the half second after.
    const BodyPose before = motion_.pose(t - 0.5 / cast_.person.pace);
    if (pose.hand_in_use[kLeft] && pose.hand_in_use[kRight]) return;
    if (before.hand_in_use[kLeft] && before.hand_in_use[kRight]) return;
    for (const size_t left : limbs_[kLeft]) {
      for (const size_t right : limbs_[kRight]) note("hands in each other", left, right);
    }
  }

  void Bench(const BodyPose& pose, double t) {
    for (size_t i = 0; i < still_.size(); ++i) {
      const double top = still_[i].X_LS.translation().z() + still_[i].shape.half_m.z();
      for (const Side side : {kLeft, kRight}) {
        for (const size_t limb : limbs_[side]) {
          const PersonCapsule& c = p_.body().capsules[limb];
          const Eigen::Vector3d &a = pose.p_W[static_cast<size_t>(c.a)], &b = pose.p_W[static_cast<size_t>(c.b)];
          if (std::min(a.z(), b.z()) - c.radius_m > top) continue;
          const double gap = DistanceOf(MakeCapsule(a, b, c.radius_m), solids_[i]).distance_m;
          Note("limb in bench", -1e3 * gap, t, "mm", [&] { return fmt::format("{} in {}", c.name, still_[i].name); });
        }
      }
    }
  }

  // Soles on the floor, or what sits on the seat at the seat's height.
  void Ground(const BodyPose& pose, double t) {
    if (cast_.person.seated) {
      const double off = std::abs(pose.p_W[kPelvis].z() - build_.p_WPelvis.z());
      Note("seat lost", 1e3 * off, t, "mm", [] { return std::string("pelvis off its height over the seat"); });
    }
    for (const int k : {static_cast<int>(kToeL), static_cast<int>(kToeR), static_cast<int>(kAnkleL), static_cast<int>(kAnkleR)}) {
      const auto i = static_cast<size_t>(k);
      Note("feet lifted", 1e3 * std::abs(pose.p_W[i].z() - first_.p_W[i].z()), t, "mm", [] { return std::string("foot"); });
    }
  }

  // ISO 13855:2010 reckons with hands that approach at up to 2.0 m/s and people who walk at up to 1.6 m/s.
  void Speeds(double t) {
    constexpr double h = 0.002;
    const BodyPose a = motion_.pose(t - h), b = motion_.pose(t + h);
    const auto speed = [&](int k) { return (b.p_W[static_cast<size_t>(k)] - a.p_W[static_cast<size_t>(k)]).norm() / (2 * h); };
    for (const int wrist : {static_cast<int>(kWristL), static_cast<int>(kWristR)}) {
      Note("hand too fast", speed(wrist) - 2.0, t, "m/s", [&] { return fmt::format("{:.2f} m/s", speed(wrist)); });
    }
    Note("body too fast", speed(kPelvis) - 1.6, t, "m/s", [&] { return fmt::format("{:.2f} m/s", speed(kPelvis)); });
  }

  double TipGap(const BodyPose& pose, Side side, int landmark, size_t prop, const Eigen::Isometry3d& X_WP) const {
    const Eigen::Isometry3d at(Eigen::Translation3d(pose.p_W[static_cast<size_t>(HandPoint(side, landmark))]));
    const double radius = HandBoneRadius(landmark == 4 ? 0 : 1, 3, p_.body().hand_length_m);
    return Distance(Shape::Sphere(radius), at, cast_.lesson.props[prop].shape, X_WP).distance_m;
  }

  // Thumb and index of the hand that carries a prop are at it.
  void Grips(const BodyPose& pose, double t) {
    const auto props = motion_.props(t);
    for (size_t i = 0; i < props.size(); ++i) {
      if (props[i].carrier < 0) continue;
      // Fingers need a quarter of a second to close and to open, at pace 1.
      const double settle = 0.3 / cast_.person.pace;
      if (motion_.props(t - settle)[i].carrier != props[i].carrier || motion_.props(t + settle)[i].carrier != props[i].carrier)
        continue;
      const Side side = static_cast<Side>(props[i].carrier);
      for (const int tip : {4, 8}) {
        Note("hand off what it holds", 1e3 * TipGap(pose, side, tip, i, props[i].X_WP), t, "mm",
             [&] { return fmt::format("{} tip from {}", tip == 4 ? "thumb" : "index", cast_.lesson.props[i].name); });
      }
    }
  }

  // Within every cycle and a third of work, what works on a prop comes to it: the tool, or a fingertip.
  void Work() {
    for (size_t n = 0; n < cast_.lesson.beats.size() && n < p_.beats().size(); ++n) {
      const Beat& beat = cast_.lesson.beats[n];
      if (beat.kind != BeatKind::kWork) continue;
      size_t prop = 0, tool = 0;
      while (cast_.lesson.props[prop].name != beat.prop) ++prop;
      while (!beat.with.empty() && cast_.lesson.props[tool].name != beat.with) ++tool;
      const double span = 1.35 / beat.rate_hz / 0.9, from = p_.beats()[n].ready_s, to = p_.beats()[n].end_s;
      for (double t = from; t + span < to; t += span) {
        double least = 1e9;
        for (double s = t; s < t + span; s += 0.02) {
          const auto props = motion_.props(s);
          if (!beat.with.empty()) {
            least = std::min(least, Distance(cast_.lesson.props[tool].shape, props[tool].X_WP, cast_.lesson.props[prop].shape,
                                             props[prop].X_WP)
                                        .distance_m);
            continue;
          }
          const BodyPose pose = motion_.pose(s);
          for (const Side side : {kLeft, kRight}) {
            if (!pose.hand_in_use[side] || props[prop].carrier == side) continue;
            for (const int tip : {4, 8, 12}) least = std::min(least, TipGap(pose, side, tip, prop, props[prop].X_WP));
          }
        }
        Note("hand off what it works on", 1e3 * least, t, "mm", [&] { return p_.beats()[n].label; });
      }
    }
  }

  const Cast& cast_;
  const Performance& p_;
  Motion motion_;
  PersonBuild build_;
  std::array<std::vector<size_t>, 2> limbs_;
  std::vector<size_t> trunk_;
  std::vector<Body> still_;
  std::vector<Solid> solids_;
  BodyPose first_;
  Faults faults_;
};

}  // namespace dryrig::testing
