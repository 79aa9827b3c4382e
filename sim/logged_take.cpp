#include "sim/logged_take.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/arm_dynamics.h"
#include "sim/delay.h"
#include "sim/kinematics.h"
#include "sim/take_parts.h"

namespace dryrig {

namespace {

constexpr double kMotionRate_hz = 50,
                 kBaseline_s = 0.1;  // of the camera's turning and going, compared
constexpr double kFine_s = 0.5, kFineRate_hz = 200;
constexpr double kLeastMatch = 0.5, kLeastDrift_s = 30;
constexpr double kSmooth_s = 1.0 / 30;  // half the window of speed and acceleration, for torques
constexpr double kReach_s = 0.005;      // by which the lesson may reach beyond the log

/// Turning and going of a rigid body: angle and way of a step of kBaseline_s.
/// No frame fixed to it or to the room matters for the first; the second
/// differs a little with the mount.
void MotionOf(const Eigen::Isometry3d& before, const Eigen::Isometry3d& after, double* out) {
  out[0] = Eigen::AngleAxisd(before.linear().transpose() * after.linear()).angle();
  out[1] = (after.translation() - before.translation()).norm();
}

class ClockFinder {
 public:
  ClockFinder(const JointLog& log, const CameraTrack& track, const ArmModel& arm)
      : log_(log), track_(track), arm_(arm), curve_(log.t_s, log.q) {}

  LogClock Find() {
    // Coarse over all there is, fine near that.
    const double most_s = std::max(log_.end_s() - log_.start_s(), track_.t_s.back() - track_.t_s.front());
    const double apart_s = log_.start_s() - track_.t_s.front();
    const Delay coarse = Between(track_.t_s.front(), track_.t_s.back(), kMotionRate_hz / 2, apart_s - most_s, apart_s + most_s);
    if (coarse.match < kLeastMatch) {
      throw InputError(
          fmt::format("{} and {}: the camera's motion by joints and as tracked "
                      "match by {:.2f} at best ({} is needed): no "
                      "common clock can be found",
                      log_.name, track_.name, coarse.match, kLeastMatch));
    }
    const double from_s = std::max(track_.t_s.front(), log_.start_s() - coarse.delay_s) + kBaseline_s;
    const double to_s = std::min(track_.t_s.back(), log_.end_s() - coarse.delay_s) - kBaseline_s;
    const auto fine = [&](double a_s, double b_s) {
      return Between(a_s, b_s, kFineRate_hz, coarse.delay_s - kFine_s, coarse.delay_s + kFine_s);
    };
    LogClock out;
    const Delay whole = fine(from_s, to_s);
    out.match = whole.match;
    out.sigma_s = whole.sigma_s;
    out.offset_s = whole.delay_s;
    if (to_s - from_s < kLeastDrift_s) return out;
    const double third = (to_s - from_s) / 3;
    const Delay first = fine(from_s, from_s + third), last = fine(to_s - third, to_s);
    if (first.match < kLeastMatch || last.match < kLeastMatch) return out;
    const double slope = (last.delay_s - first.delay_s) / (2 * third);
    if (std::abs(last.delay_s - first.delay_s) < 4 * std::hypot(first.sigma_s, last.sigma_s)) return out;
    out.rate = 1 + slope;
    out.offset_s = first.delay_s - slope * (from_s + third / 2);
    return out;
  }

 private:
  /// Delay of the log against the track's part from from_s to to_s: log time
  /// less track time.
  Delay Between(double from_s, double to_s, double rate_hz, double least_s, double most_s) const {
    const EvenSignal tracked = Sampled(from_s, to_s, rate_hz, 2, [&](double t_s, double* out) {
      MotionOf(TrackedAt(track_, t_s - kBaseline_s / 2), TrackedAt(track_, t_s + kBaseline_s / 2), out);
    });
    const double log_from = std::max(log_.start_s(), from_s + least_s), log_to = std::min(log_.end_s(), to_s + most_s);
    const EvenSignal logged = Sampled(log_from, log_to, rate_hz, 2, [&](double t_s, double* out) {
      JointVector before, after;
      curve_.At(t_s - kBaseline_s / 2, &before, nullptr);
      curve_.At(t_s + kBaseline_s / 2, &after, nullptr);
      MotionOf(CameraPose(arm_, before), CameraPose(arm_, after), out);
    });
    return FindDelay(tracked, logged, least_s, most_s);
  }

  const JointLog& log_;
  const CameraTrack& track_;
  const ArmModel& arm_;
  LogCurve curve_;
};

/// Speed and acceleration at tick i by a parabola through the ticks around it.
void RatesAround(const std::vector<TakeTick>& ticks, size_t i, double dt_s, JointVector* qd, JointVector* qdd) {
  const auto wanted = static_cast<size_t>(std::lround(kSmooth_s / dt_s));
  const size_t m = std::min({wanted, i, ticks.size() - 1 - i});
  qd->setZero(ticks[i].q.size());
  qdd->setZero(ticks[i].q.size());
  if (m < 2) return;
  double s0 = 0, s2 = 0, s4 = 0;
  JointVector sum = *qd, first = *qd, second = *qd;
  for (int k = -static_cast<int>(m); k <= static_cast<int>(m); ++k) {
    const JointVector& q = ticks[static_cast<size_t>(static_cast<int>(i) + k)].q;
    const double kk = static_cast<double>(k) * k;
    s0 += 1, s2 += kk, s4 += kk * kk;
    sum += q, first += k * q, second += kk * q;
  }
  *qd = first / (s2 * dt_s);
  *qdd = 2 * (s0 * second - s2 * sum) / ((s0 * s4 - s2 * s2) * dt_s * dt_s);
}

double ToHands_m(const BodyPose& pose, const Eigen::Isometry3d& X_WC) {
  const Eigen::Vector3d middle = 0.5 * (pose.p_W[kWristL] + pose.p_W[kWristR]);
  return (X_WC.inverse() * middle).z();
}

}  // namespace

void LogCurve::At(double t_s, JointVector* q, JointVector* qd) const {
  const size_t n = t_s_.size();
  const auto next = std::clamp<std::ptrdiff_t>(std::upper_bound(t_s_.begin(), t_s_.end(), t_s) - t_s_.begin(), 1,
                                               static_cast<std::ptrdiff_t>(n) - 1);
  const auto b = static_cast<size_t>(next), a = b - 1;
  const double h = t_s_[b] - t_s_[a], s = std::clamp((t_s - t_s_[a]) / h, 0.0, 1.0);
  const auto slope = [&](size_t i) -> JointVector {
    const size_t left = i == 0 ? 0 : i - 1, right = std::min(i + 1, n - 1);
    return (values_[right] - values_[left]) / (t_s_[right] - t_s_[left]);
  };
  const JointVector va = h * slope(a), vb = h * slope(b), d = values_[b] - values_[a];
  *q = values_[a] + s * (va + s * (3 * d - 2 * va - vb + s * (va + vb - 2 * d)));
  if (qd != nullptr) *qd = (va + s * (2 * (3 * d - 2 * va - vb) + s * 3 * (va + vb - 2 * d))) / h;
}

LogClock FindLogClock(const JointLog& log, const CameraTrack& track, const ArmModel& arm) {
  return ClockFinder(log, track, arm).Find();
}

RecordedLesson RehearsedParts(const Performance& rehearsal, double begins_s, double from_s, double to_s) {
  constexpr double kStep_s = 1.0 / 30, kLeastIntent_s = 3, kLeastSpan_s = 0.2;
  RecordedLesson out;
  out.start_s = from_s;
  out.length_s = to_s - from_s;
  for (const TimedIntent& intent : rehearsal.intents()) {
    const double a = std::max(intent.start_s + begins_s, from_s), b = std::min(intent.end_s + begins_s, to_s);
    if (b - a >= kLeastIntent_s) out.intents.push_back({a, b, intent.shot});
  }
  // Spans of one carrier a prop, and of one pair of hands in use.
  const auto span = [&](double a, double b) { return std::pair(std::max(a + begins_s, from_s), std::min(b + begins_s, to_s)); };
  const auto steps = static_cast<int>(std::ceil(rehearsal.duration_s() / kStep_s));
  const std::vector<PropPose> first = rehearsal.PropsAt(0);
  for (size_t prop = 0; prop < first.size(); ++prop) {
    int carrier = -1;
    double since = 0;
    for (int i = 0; i <= steps + 1; ++i) {
      const double t_s = std::min(i * kStep_s, rehearsal.duration_s());
      const PropPose now = rehearsal.PropsAt(t_s)[prop];
      const int carries = i > steps ? -1 : now.carrier;
      if (carries == carrier) continue;
      if (carrier >= 0) {
        const auto [a, b] = span(since, t_s);
        if (b - a >= kLeastSpan_s)
          out.carried.push_back(
              {static_cast<int>(prop), carrier, a, b - 1e-3, Eigen::Vector2d(now.X_WP.translation().head<2>())});
      }
      carrier = carries, since = t_s;
    }
  }
  std::array<bool, 2> hands{};
  double since = 0;
  for (int i = 0; i <= steps + 1; ++i) {
    const double t_s = std::min(i * kStep_s, rehearsal.duration_s());
    const std::array<bool, 2> now = i > steps ? std::array<bool, 2>{} : rehearsal.PoseAt(t_s).hand_in_use;
    if (now == hands) continue;
    if (hands[0] || hands[1]) {
      const auto [a, b] = span(since, t_s);
      if (b > a) out.in_use.push_back({a, b, hands});
    }
    hands = now, since = t_s;
  }
  return out;
}

Take FilmLog(const TakeSetup& setup, const JointLog& log, const LogClock& clock) {
  if (!setup.lesson.recorded) throw InputError(fmt::format("lesson {} was not recorded", setup.lesson.name));
  RequireRates(setup);
  const Performance performance(setup.lesson, setup.stage.bench, setup.person, setup.seed);
  const ArmModel& arm = setup.stage.arm;
  const double start_s = setup.lesson.recorded->start_s;
  Take take = PrepareTake(setup, performance);
  const double first_s = clock.LogTime(start_s), last_s = clock.LogTime(start_s + take.duration_s);
  if (first_s < log.start_s() - kReach_s || last_s > log.end_s() + kReach_s) {
    throw InputError(
        fmt::format("{}: the log runs from {:.3f} to {:.3f} s, the lesson from "
                    "{:.3f} to {:.3f} s of its clock",
                    log.name, log.start_s(), log.end_s(), first_s, last_s));
  }
  const double dt_s = 1 / setup.physics_hz;
  const LogCurve measured(log.t_s, log.q), commanded(log.t_s, log.q_commanded.empty() ? log.q : log.q_commanded);
  take.ticks.resize(static_cast<size_t>(std::floor(take.duration_s * setup.physics_hz)) + 1);
  const auto log_time = [&](size_t i) { return clock.LogTime(start_s + static_cast<double>(i) * dt_s); };
  for (size_t i = 0; i < take.ticks.size(); ++i) {
    measured.At(log_time(i), &take.ticks[i].q, nullptr);
    commanded.At(log_time(i), &take.ticks[i].q_wish, nullptr);
  }
  const ArmDynamics dynamics(arm, take.X_WB);
  const auto ticks_per_frame = static_cast<size_t>(std::lround(setup.physics_hz / take.id.frame_hz));
  BodyPose before = performance.PoseAt(0);
  std::vector<Eigen::Isometry3d> X_WL, X_WL_before;
  for (size_t i = 0; i < take.ticks.size(); ++i) {
    TakeTick& tick = take.ticks[i];
    const double t_s = static_cast<double>(i) * dt_s;
    JointVector qdd;
    RatesAround(take.ticks, i, dt_s, &tick.qd, &qdd);
    dynamics.Torques(tick.q, tick.qd, qdd, &tick.torque);
    for (int j = 0; j < arm.dof(); ++j) {
      const Joint& joint = arm.joints[static_cast<size_t>(j)];
      tick.torque[j] += joint.damping * tick.qd[j];
    }
    LinkPoses(arm, tick.q, &X_WL);
    for (Eigen::Isometry3d& X : X_WL) X = take.X_WB * X;
    const Eigen::Isometry3d X_WC = X_WL.back() * arm.X_EC;
    tick.p_WC = X_WC.translation();
    tick.q_WC = Eigen::Quaterniond(X_WC.linear());
    const BodyPose pose = performance.PoseAt(t_s);
    tick.clearance = NearestToPerson(take.arm_bodies, X_WL, take.person, pose);
    tick.approach_mps = ApproachSpeed(tick.clearance, take.arm_bodies[static_cast<size_t>(tick.clearance.arm_body)],
                                      take.person.capsules[static_cast<size_t>(tick.clearance.capsule)], X_WL,
                                      i == 0 ? X_WL : X_WL_before, pose, before, dt_s);
    before = pose;
    X_WL_before = X_WL;
    if (i % ticks_per_frame != 0) continue;
    TakeFrame frame;
    frame.X_WC = X_WC;
    const auto sample = static_cast<size_t>(
        std::clamp<std::ptrdiff_t>(std::upper_bound(log.t_s.begin(), log.t_s.end(), log_time(i)) - log.t_s.begin() - 1, 0,
                                   static_cast<std::ptrdiff_t>(log.t_s.size()) - 1));
    const CameraBody& camera = setup.stage.camera;
    frame.lens.focal_m = log.focal_m.empty() ? camera.focal_min_m : log.focal_m[sample];
    frame.lens.focus_m = log.focus_m.empty() ? std::max(camera.focus_nearest_m, ToHands_m(pose, X_WC)) : log.focus_m[sample];
    frame.person = pose;
    for (const PropPose& prop : performance.PropsAt(t_s)) {
      frame.X_WP.push_back(prop.X_WP);
      frame.carrier.push_back(prop.carrier);
    }
    frame.X_WL = X_WL;
    frame.manipulability = Manipulability(CameraJacobian(arm, tick.q));
    take.frames.push_back(std::move(frame));
  }
  return take;
}

}  // namespace dryrig
