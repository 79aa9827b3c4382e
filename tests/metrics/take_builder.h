#pragma once

#include <cmath>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "metrics/metric.h"
#include "sim/subject.h"
#include "sim/take.h"
#include "tests/sim/sketch_person.h"

namespace dryrig::testing {

inline constexpr double kPi = std::numbers::pi;
inline constexpr double kDegree = kPi / 180;

/// A camera at `eye` that looks at `target`; the image's top lies toward `up`.
inline Eigen::Isometry3d LookAt(const Eigen::Vector3d& eye, const Eigen::Vector3d& target, const Eigen::Vector3d& up) {
  const Eigen::Vector3d z = (target - eye).normalized();
  const Eigen::Vector3d y = -(up - up.dot(z) * z).normalized();
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
  X_WC.linear() << y.cross(z), y, z;
  X_WC.translation() = eye;
  return X_WC;
}

inline Shot HandsShot(ShotSize size = ShotSize::kCloseUp, ShotAngle angle = ShotAngle::kHighAngle) {
  return {{{SubjectKind::kHands, ""}}, size, angle, Composition::kCentre};
}
inline Shot FaceShot() {
  return {{{SubjectKind::kFace, ""}}, ShotSize::kMedium, ShotAngle::kEyeLevel, Composition::kCentre};
}

/// A take made by hand: a still person with both hands over the bench, one camera, one arm of two joints. Every field is a
/// function of time with a plain default; a test replaces what it is about.
struct TakeBuilder {
  double duration_s = 6, physics_hz = 240, frame_hz = 30;
  SketchPerson person = MakeSketchPerson();
  std::vector<TimedIntent> intents;
  std::vector<TakeProp> props;
  CameraBody camera_body;

  std::function<Eigen::Isometry3d(double)> camera;        // none: the first intent's own view, still
  std::function<LensState(double)> lens;                  // none: the shortest focal length, focused on the subject
  std::function<void(double, BodyPose*)> pose;            // changes the still pose
  std::function<Eigen::Isometry3d(size_t, double)> prop;  // pose of a prop
  std::function<Shot(double)> chosen = [](double) { return HandsShot(); };
  std::function<double(double)> distance = [](double) { return 0.8; };
  std::function<double(double)> approach = [](double) { return 0.0; };
  std::function<int(double)> capsule = [](double) { return 0; };
  std::function<Eigen::Vector2d(double)> q = [](double) { return Eigen::Vector2d::Zero(); };
  std::function<Eigen::Vector2d(double)> qd = [](double) { return Eigen::Vector2d::Zero(); };
  std::vector<Startle> startles;
  std::function<Eigen::Vector2d(double)> lag = [](double) { return Eigen::Vector2d::Zero(); };
  std::function<Eigen::Vector2d(double)> torque = [](double) { return Eigen::Vector2d::Zero(); };
  std::function<double(double)> manipulability = [](double) { return 0.1; };
  std::function<bool(double)> unreachable = [](double) { return false; };

  TakeBuilder& Ask(double start_s, double end_s, const Shot& shot) {
    intents.push_back({start_s, end_s, shot, static_cast<int>(intents.size())});
    return *this;
  }
  TakeBuilder& Place(const std::string& name, const Shape& shape) {
    props.push_back({name, shape, Eigen::Vector3d::Constant(0.5)});
    return *this;
  }
  /// An index of `person.body.capsules`. @pre there is one of that name.
  int CapsuleNamed(const std::string& name) const {
    int i = 0;
    while (person.body.capsules[static_cast<size_t>(i)].name != name) ++i;
    return i;
  }

  /// The subject of a shot at the start.
  SubjectGeometry Subject(const Shot& shot) const {
    const Take still = Still();
    std::vector<SubjectSample> samples;
    SubjectSamples(still, FrameAt(still, 0, false), shot, &samples);
    return MeasureSubject(still, shot, samples);
  }
  /// The camera that shows a shot exactly as asked, `nearer` times as large.
  Eigen::Isometry3d ViewOf(const Shot& shot, double nearer = 1) const {
    const SubjectGeometry subject = Subject(shot);
    const WantedView view = ViewFor(shot.angle, person.pose.q_WT);
    const double depth_m =
        FrameHeights(camera_body, {camera_body.focal_min_m, 1}, subject.extent_m, 1) / (WantedFrameHeights(shot) * nearer);
    return LookAt(subject.centre_W + depth_m * view.to_camera_W, subject.centre_W, view.up_W);
  }

  Take Build() const {
    Take take = Still();
    const auto ticks = static_cast<size_t>(std::lround(duration_s * physics_hz)) + 1;
    const auto frames = static_cast<size_t>(std::lround(duration_s * frame_hz)) + 1;
    TakeBuilder full = *this;
    if (!full.camera) {
      const Eigen::Isometry3d X_WC = ViewOf(intents.empty() ? HandsShot() : intents[0].shot);
      full.camera = [X_WC](double) { return X_WC; };
    }
    if (!full.lens) {
      const double focus_m =
          (full.camera(0).inverse() * Subject(intents.empty() ? HandsShot() : intents[0].shot).centre_W).norm();
      full.lens = [focus_m, f = camera_body.focal_min_m](double) { return LensState{f, focus_m}; };
    }
    for (size_t i = 0; i < ticks; ++i) take.ticks.push_back(full.TickAt(static_cast<double>(i) / physics_hz));
    for (size_t i = 0; i < frames; ++i) take.frames.push_back(full.FrameAt(take, static_cast<double>(i) / frame_hz, true));
    return take;
  }

 private:
  /// All but frames and ticks.
  Take Still() const {
    Take take;
    take.id.lesson = "made-by-hand";
    take.id.policy = "none";
    take.id.physics_hz = physics_hz;
    take.id.frame_hz = frame_hz;
    take.duration_s = duration_s;
    take.intents = intents;
    take.camera = camera_body;
    take.person = person.body;
    take.bench_top = {"bench", Shape::Box({0.8, 0.35, 0.015}), Eigen::Isometry3d(Eigen::Translation3d(0, 0.35, 0.725))};
    take.X_WB = Eigen::Translation3d(0, 1.0, 0.74);
    take.arm_bodies = {{-1, {"base", Shape::Cylinder(0.06, 0.05), Eigen::Isometry3d::Identity()}},
                       {0, {"camera", Shape::Box({0.06, 0.04, 0.06}), Eigen::Isometry3d(Eigen::Translation3d(0, 0, -0.05))}}};
    take.joints = {{"shoulder", -2, 2, 1.5, 5, 40, false}, {"wrist", -1, 1, 2, 10, 10, false}};
    take.moving_mass_kg = 20;
    take.payload_kg = 2;
    take.props = props;
    take.startles = startles;
    return take;
  }

  TakeTick TickAt(double t_s) const {
    TakeTick tick;
    const Eigen::Isometry3d X_WC = camera(t_s);
    tick.p_WC = X_WC.translation();
    tick.q_WC = Eigen::Quaterniond(X_WC.linear());
    tick.q = q(t_s);
    tick.qd = qd(t_s);
    tick.q_wish = q(t_s) + lag(t_s);
    tick.torque = torque(t_s);
    tick.clearance.distance_m = distance(t_s);
    tick.clearance.arm_body = 1;
    tick.clearance.capsule = capsule(t_s);
    tick.clearance.p_WArm = tick.p_WC;
    tick.clearance.p_WPerson = PoseAt(t_s).p_W[static_cast<size_t>(person.body.capsules[static_cast<size_t>(capsule(t_s))].b)];
    tick.approach_mps = approach(t_s);
    return tick;
  }
  BodyPose PoseAt(double t_s) const {
    BodyPose out = person.pose;
    out.hand_in_use = {true, true};
    if (pose) pose(t_s, &out);
    return out;
  }
  TakeFrame FrameAt(const Take& take, double t_s, bool with_camera) const {
    TakeFrame frame;
    frame.X_WC = with_camera ? camera(t_s) : Eigen::Isometry3d::Identity();
    frame.lens = with_camera ? lens(t_s) : LensState{};
    frame.person = PoseAt(t_s);
    for (size_t i = 0; i < take.props.size(); ++i) {
      frame.X_WP.push_back(prop ? prop(i, t_s) : Eigen::Isometry3d(Eigen::Translation3d(0.5, 0.4, 0.8)));
      frame.carrier.push_back(-1);
    }
    frame.X_WL = {frame.X_WC};
    frame.chosen = chosen(t_s);
    frame.manipulability = manipulability(t_s);
    frame.unreachable = unreachable(t_s);
    return frame;
  }
};

/// The whole scene, turned about the world's z.
inline Take Turned(Take take, double angle_rad) {
  const Eigen::Isometry3d X(Eigen::AngleAxisd(angle_rad, Eigen::Vector3d::UnitZ()));
  const Eigen::Quaterniond q(X.linear());
  take.bench_top.X_LS = X * take.bench_top.X_LS;
  for (Body& body : take.keep_out) body.X_LS = X * body.X_LS;
  take.X_WB = X * take.X_WB;
  for (TakeTick& tick : take.ticks) {
    tick.p_WC = X * tick.p_WC;
    tick.q_WC = q * tick.q_WC;
    tick.clearance.p_WArm = X * tick.clearance.p_WArm;
    tick.clearance.p_WPerson = X * tick.clearance.p_WPerson;
  }
  for (TakeFrame& frame : take.frames) {
    frame.X_WC = X * frame.X_WC;
    for (Eigen::Vector3d& p : frame.person.p_W) p = X * p;
    frame.person.q_WT = q * frame.person.q_WT;
    frame.person.q_WHd = q * frame.person.q_WHd;
    frame.person.gaze_W = q * frame.person.gaze_W;
    for (Eigen::Isometry3d& pose : frame.X_WP) pose = X * pose;
    for (Eigen::Isometry3d& pose : frame.X_WL) pose = X * pose;
  }
  return take;
}

inline Score ScoreOf(const Take& take, std::string_view metric) {
  return FindMetric(metric).compute(Footage(take));
}
/// A metric's value. @pre it has one.
inline double ValueOf(const Take& take, std::string_view metric) {
  return ScoreOf(take, metric).value.value();
}

}  // namespace dryrig::testing
