#pragma once

#include <fmt/format.h>

#include <cmath>
#include <string>

#include "policies/table.h"
#include "scenes/catalogue.h"
#include "scenes/track_point.h"
#include "sim/kinematics.h"
#include "sim/rng.h"
#include "sim/run.h"

namespace dryrig::testing {

/// What is hidden in a made-up set: the rehearsal's stage with another servo, friction, half the time step, another mount, clocks
/// and trackers of their own. Everything invented.
struct Hidden {
  double latency_s = 0.008, bandwidth_hz = 6, damping_ratio = 1;
  double friction_rad_s2 = 0;  // Coulomb, as the acceleration that it takes away; only with other_form
  bool other_form = false;     // no computed torque: a spring and a damper toward the set point and its speed
  Eigen::Isometry3d X_EC = Eigen::Isometry3d::Identity();  // where the camera really sits
  double tracker_s = 0;                                    // the live tracker's delay; 0: the rehearsal's
  double clock_s = 0, clock_rate = 1;                      // of the log by the tracks
  double joint_noise = 2e-5, person_noise_m = 0.001, camera_noise_m = 0.001, camera_noise_rad = 0.002;
  double joint_hz = 250;
  uint64_t seed = 1;
};

/// Files as a set leaves them.
struct RealSet {
  std::string joints, person, live_person, camera;
};

/// One point of a person a line, as the readers know them.
inline std::string TrackText(const Take& take, double delay_s, double clock_s, double clock_rate, double noise_m,
                             RandomStream* rng) {
  std::string text = "t,joint,x,y,z\n";
  for (size_t f = 0; f < take.frames.size(); ++f) {
    const BodyPose& pose = take.frames[f].person;
    const double t_s = clock_s + clock_rate * (static_cast<double>(f) / take.id.frame_hz + delay_s);
    const auto add = [&](const std::string& name, const Eigen::Vector3d& p) {
      text += fmt::format("{:.5f},{},{:.5f},{:.5f},{:.5f}\n", t_s, name, p.x() + noise_m * rng->Normal(),
                          p.y() + noise_m * rng->Normal(), p.z() + noise_m * rng->Normal());
    };
    const auto at = [&](int point) { return pose.p_W[static_cast<size_t>(point)]; };
    add("pelvis", at(kPelvis)), add("spine", at(kLumbar)), add("chest", at(kThorax)), add("neck", at(kNeck));
    add("nose", pose.p_WHead() + pose.q_WHd * Eigen::Vector3d(0, 0.1, 0));
    for (const int side : {0, 1}) {
      const std::string s = side == 0 ? "left_" : "right_";
      const double right = side == 1 ? 1 : -1;
      add(s + "ear", pose.p_WHead() + pose.q_WHd * Eigen::Vector3d(right * 0.07, 0, 0));
      add(s + "eye", pose.p_WHead() + pose.q_WHd * Eigen::Vector3d(right * 0.03, 0.09, 0));
      for (const auto& [name, point] : {std::pair{"shoulder", kShoulderL},
                                        {"elbow", kElbowL},
                                        {"wrist", kWristL},
                                        {"hip", kHipL},
                                        {"knee", kKneeL},
                                        {"ankle", kAnkleL},
                                        {"toe", kToeL}}) {
        add(s + name, at(point + side));
      }
      for (int i = 1; i < kHandLandmarks; ++i) add(ToString(FingerAt(side, i)), at(HandPoint(side == 0 ? kLeft : kRight, i)));
    }
  }
  return text;
}

/// Measured joints by another servo than the simulator's: q'' = w^2 (r - q) + 2 d w (r' - q') - friction, r the set point as it
/// was latency_s ago.
inline void FollowOtherwise(const Hidden& hidden, Take* take) {
  const double dt_s = 1 / take->id.physics_hz, w = 2 * M_PI * hidden.bandwidth_hz;
  const auto told = [&](double i) -> JointVector {
    const double u = std::max(0.0, i - hidden.latency_s / dt_s);
    const auto a = static_cast<size_t>(u);
    const double s = u - static_cast<double>(a);
    return (1 - s) * take->ticks[a].q_wish + s * take->ticks[std::min(a + 1, take->ticks.size() - 1)].q_wish;
  };
  JointVector q = take->ticks[0].q_wish, v = JointVector::Zero(q.size()), before = q;
  for (size_t i = 0; i < take->ticks.size(); ++i) {
    take->ticks[i].q = q;
    const JointVector r = told(static_cast<double>(i)), rate = (r - before) / dt_s;
    before = r;
    const JointVector drag = hidden.friction_rad_s2 * (v / 0.01).array().tanh();
    v += dt_s * (w * w * (r - q) + 2 * hidden.damping_ratio * w * (rate - v) - drag);
    q += dt_s * v;
  }
}

/// Films the setup's lesson as the hidden set would, and writes down what its instruments saw.
inline RealSet RecordSet(const TakeSetup& rehearsal, const std::string& policy, const Hidden& hidden, Take* real = nullptr) {
  TakeSetup setup = rehearsal;
  setup.physics_hz = 480;
  ArmModel& arm = setup.stage.arm;
  arm.servo.latency_s = hidden.latency_s;
  arm.servo.bandwidth_hz = hidden.bandwidth_hz;
  arm.servo.damping_ratio = hidden.damping_ratio;
  if (hidden.tracker_s > 0) setup.sensing.latency_s = hidden.tracker_s;
  // The policy looks through the mount that it believes in; the camera sits on another.
  const auto made = FindPolicy(policy).make({});
  Take take = RunTake(setup, *made);
  if (hidden.other_form) FollowOtherwise(hidden, &take);
  RandomStream rng(hidden.seed, "real set");
  RealSet out;
  out.joints = "# made up\nt_s";
  for (const char* quantity : {"position", "commanded"}) {
    for (const Joint& joint : arm.joints) out.joints += fmt::format(",{}_{}_rad", joint.name, quantity);
  }
  out.joints += ",focal_mm,focus_m\n";
  const double length_s = static_cast<double>(take.ticks.size() - 1) / take.id.physics_hz;
  const auto mixed = [&](double t_s, JointVector TakeTick::*value) -> JointVector {
    const double u = t_s * take.id.physics_hz;
    const auto i = std::min(static_cast<size_t>(u), take.ticks.size() - 2);
    const double s = u - static_cast<double>(i);
    return (1 - s) * (take.ticks[i].*value) + s * (take.ticks[i + 1].*value);
  };
  for (double t_s = 0; t_s <= length_s; t_s += 1 / hidden.joint_hz) {
    out.joints += fmt::format("{:.6f}", hidden.clock_s + hidden.clock_rate * t_s);
    for (const double q : mixed(t_s, &TakeTick::q)) out.joints += fmt::format(",{:.7f}", q + hidden.joint_noise * rng.Normal());
    for (const double q : mixed(t_s, &TakeTick::q_wish)) out.joints += fmt::format(",{:.7f}", q);
    const LensState& lens =
        take.frames[std::min(static_cast<size_t>(t_s * take.id.frame_hz + 1e-6), take.frames.size() - 1)].lens;
    out.joints += fmt::format(",{:.4f},{:.4f}\n", lens.focal_m * 1000, lens.focus_m);
  }
  out.person = TrackText(take, 0, 0, 1, hidden.person_noise_m, &rng);
  out.live_person = TrackText(take, hidden.tracker_s, hidden.clock_s, hidden.clock_rate, 0.004, &rng);
  std::vector<Eigen::Isometry3d> X_BL;
  out.camera = "t_s,x_m,y_m,z_m,qx,qy,qz,qw\n";
  for (double t_s = 0; t_s <= length_s; t_s += 0.01) {
    LinkPoses(arm, mixed(t_s, &TakeTick::q), &X_BL);
    const Eigen::Isometry3d X_WC = take.X_WB * X_BL.back() * hidden.X_EC;
    const Eigen::Vector3d noise =
        hidden.camera_noise_rad / std::sqrt(3.0) * Eigen::Vector3d(rng.Normal(), rng.Normal(), rng.Normal());
    const Eigen::Quaterniond q =
        Eigen::Quaterniond(X_WC.linear()) * Eigen::Quaterniond(1, noise.x() / 2, noise.y() / 2, noise.z() / 2).normalized();
    const Eigen::Vector3d p =
        X_WC.translation() + hidden.camera_noise_m * Eigen::Vector3d(rng.Normal(), rng.Normal(), rng.Normal());
    out.camera += fmt::format("{:.5f},{:.6f},{:.6f},{:.6f},{:.7f},{:.7f},{:.7f},{:.7f}\n", t_s, p.x(), p.y(), p.z(), q.x(), q.y(),
                              q.z(), q.w());
  }
  if (real != nullptr) *real = take;
  return out;
}

}  // namespace dryrig::testing
