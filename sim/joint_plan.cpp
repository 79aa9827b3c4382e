#include "sim/joint_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "scenes/error.h"
#include "sim/arm_span.h"
#include "sim/kinematics.h"
#include "sim/spline_track.h"
#include "sim/startle.h"

namespace dryrig {

namespace {

constexpr double kPerUnit = 1e9;                               // of the numbers written
constexpr double kApproachShare = 0.5;                         // of each joint's limits, on the way from parking and back
constexpr double kStopShare = 0.9, kShortestStop_s = 1.0 / 3;  // of the braking at the take's end
constexpr double kSplineEnd_s = 0.04;                          // the spline's natural end bends the last ticks; they are left out
constexpr int kApproachSamples = 64;
constexpr double kSame = 1e-9;

JointVector Rounded(const JointVector& x) {
  return (x * kPerUnit).array().round() / kPerUnit;
}

JointPoint AtRest(const JointVector& q) {
  const JointVector zero = JointVector::Zero(q.size());
  return {q, zero, zero};
}

/// Seconds from rest to rest: peaks of a minimum-jerk motion over D in T are 1.875 D/T, 10/√3 D/T² and 60 D/T³.
double ApproachTime_s(const Take& take, const ArmModel& arm, const JointVector& from, const JointVector& to, double most_mps) {
  const JointVector way = to - from;
  if (way.cwiseAbs().maxCoeff() < kSame) return 0;
  double least_s = 0;
  for (int j = 0; j < arm.dof(); ++j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    const double d = std::abs(way[j]) / kApproachShare;
    least_s = std::max({least_s, 1.875 * d / joint.velocity, std::sqrt(10 / std::sqrt(3.0) * d / joint.acceleration),
                        std::cbrt(60 * d / joint.jerk)});
  }
  // Speeds go as 1/T: those of one second tell the rest.
  double fastest_mps = 0;
  std::vector<Eigen::Isometry3d> X_WL;
  for (int k = 1; k < kApproachSamples; ++k) {
    const JointPoint at = Between(AtRest(from), AtRest(to), 1, static_cast<double>(k) / kApproachSamples);
    LinkPoses(arm, at.q, &X_WL);
    for (Eigen::Isometry3d& X : X_WL) X = take.X_WB * X;
    for (const ArmBody& body : take.arm_bodies) {
      if (body.link < 0) continue;
      const Eigen::Vector3d middle_W = X_WL[static_cast<size_t>(body.link)] * body.body.X_LS.translation();
      fastest_mps = std::max(fastest_mps, MostSpeed_mps(arm, X_WL, body.link, middle_W, body.body.shape.BoundingRadius(), at.qd));
    }
  }
  constexpr double kBetweenSamples = 1.02;
  return std::max(least_s, kBetweenSamples * fastest_mps / most_mps);
}

/// A joint's motion from velocity and acceleration to rest: its velocity is the cubic that ends at 0, level.
struct JointStop {
  double q, v, a, time_s;

  void At(double t_s, double* q_out, double* v_out, double* a_out) const {
    const double T = time_s, s = std::min(t_s / T, 1.0), s2 = s * s, s3 = s2 * s, s4 = s3 * s;
    *q_out = q + T * (v * (s - s3 + s4 / 2) + a * T * (s2 / 2 - 2 * s3 / 3 + s4 / 4));
    *v_out = v * (1 - 3 * s2 + 2 * s3) + a * T * (s - 2 * s2 + s3);
    *a_out = v / T * (6 * s2 - 6 * s) + a * (1 - 4 * s + 3 * s2);
  }
};
JointStop StopOf(const Joint& joint, double q, double v, double a) {
  constexpr double kLongest_s = 5, kStep_s = 0.05;
  for (JointStop stop{q, v, a, kShortestStop_s};; stop.time_s += kStep_s) {
    bool gentle = true;
    for (int k = 1; k <= 20 && gentle; ++k) {
      double q_k, v_k, a_k;
      stop.At(stop.time_s * k / 20, &q_k, &v_k, &a_k);
      gentle = std::abs(a_k) <= std::max(kStopShare * joint.acceleration, std::abs(a)) &&
               std::abs(v_k) <= std::max(kStopShare * joint.velocity, std::abs(v));
    }
    if (gentle || stop.time_s > kLongest_s) return stop;
  }
}

class Planner {
 public:
  Planner(const Take& take, const ArmModel& arm, const JointPlanSpec& spec) : take_(take), arm_(arm), spec_(spec) {
    plan_.rate_hz = spec.rate_hz;
  }

  JointPlan Run() {
    std::vector<double> rows;
    const auto dof = static_cast<size_t>(arm_.dof());
    for (const TakeTick& tick : take_.ticks) rows.insert(rows.end(), tick.q_wish.begin(), tick.q_wish.end());
    const SplineTrack track(std::move(rows), dof);
    const auto at = [&](double t_s) {
      JointPoint point = AtRest(spec_.parking);
      track.At(t_s * take_.id.physics_hz, point.q.data());
      track.RatesAt(t_s * take_.id.physics_hz, point.qd.data(), point.qdd.data());
      point.qd *= take_.id.physics_hz;
      point.qdd *= take_.id.physics_hz * take_.id.physics_hz;
      return point;
    };
    // The arm stands when the take begins: its first set point is one of rest.
    const JointVector first = take_.ticks.front().q_wish;
    Travel(spec_.parking, first);
    plan_.lead_s = Now();
    const double last_s = static_cast<double>(take_.ticks.size() - 1) / take_.id.physics_hz - kSplineEnd_s;
    const auto film = static_cast<size_t>(std::floor(last_s * spec_.rate_hz + kSame));
    if (plan_.points.empty()) Add(AtRest(first));
    for (size_t i = 1; i <= film; ++i) Add(at(static_cast<double>(i) / spec_.rate_hz));
    plan_.film_s = static_cast<double>(film) / spec_.rate_hz;
    const JointVector stood = Stop(at(plan_.film_s));
    Travel(stood, spec_.parking);
    return std::move(plan_);
  }

 private:
  double Now() const { return plan_.points.empty() ? 0 : plan_.TimeOf(plan_.points.size() - 1); }
  void Add(const JointPoint& point) { plan_.points.push_back({Rounded(point.q), Rounded(point.qd), Rounded(point.qdd)}); }
  size_t WholePoints(double time_s) const { return static_cast<size_t>(std::ceil(time_s * spec_.rate_hz - kSame)); }

  void Travel(const JointVector& from, const JointVector& to) {
    const size_t n = WholePoints(ApproachTime_s(take_, arm_, from, to, spec_.most_approach_mps));
    if (n == 0) return;
    const double time_s = static_cast<double>(n) / spec_.rate_hz;
    if (plan_.points.empty()) Add(AtRest(from));
    for (size_t i = 1; i < n; ++i)
      Add(Between(AtRest(from), AtRest(to), time_s, static_cast<double>(i) / static_cast<double>(n)));
    Add(AtRest(to));
  }

  JointVector Stop(const JointPoint& from) {
    std::vector<JointStop> stops;
    double time_s = 0;
    for (int j = 0; j < arm_.dof(); ++j) {
      stops.push_back(StopOf(arm_.joints[static_cast<size_t>(j)], from.q[j], from.qd[j], from.qdd[j]));
      time_s = std::max(time_s, stops.back().time_s);
    }
    const size_t n = WholePoints(time_s);
    JointPoint point = from;
    for (size_t i = 1; i <= n; ++i) {
      for (int j = 0; j < arm_.dof(); ++j)
        stops[static_cast<size_t>(j)].At(static_cast<double>(i) / spec_.rate_hz, &point.q[j], &point.qd[j], &point.qdd[j]);
      Add(i == n ? AtRest(point.q) : point);
    }
    plan_.stop_s = static_cast<double>(n) / spec_.rate_hz;
    return point.q;
  }

  const Take& take_;
  const ArmModel& arm_;
  const JointPlanSpec& spec_;
  JointPlan plan_;
};

}  // namespace

JointPoint Between(const JointPoint& a, const JointPoint& b, double dt_s, double share) {
  const double s = share, h = dt_s;
  const JointVector d = b.q - a.q - h * a.qd - h * h / 2 * a.qdd, v = h * (b.qd - a.qd - h * a.qdd), w = h * h * (b.qdd - a.qdd);
  const JointVector c3 = 10 * d - 4 * v + w / 2, c4 = -15 * d + 7 * v - w, c5 = 6 * d - 3 * v + w / 2;
  JointPoint out;
  out.q = a.q + s * h * a.qd + s * s * h * h / 2 * a.qdd + s * s * s * (c3 + s * (c4 + s * c5));
  out.qd = a.qd + s * h * a.qdd + s * s / h * (3 * c3 + s * (4 * c4 + s * 5 * c5));
  out.qdd = a.qdd + s / (h * h) * (6 * c3 + s * (12 * c4 + s * 20 * c5));
  return out;
}

JointPlan PlanJoints(const Take& take, const ArmModel& arm, const JointPlanSpec& spec) {
  for (int j = 0; j < arm.dof(); ++j) {
    const Joint& joint = arm.joints[static_cast<size_t>(j)];
    const bool turns = joint.kind == JointKind::kRevolute;
    const double unit = turns ? 180 / std::numbers::pi : 1000;
    if (!joint.continuous && !(spec.parking[j] >= joint.lower && spec.parking[j] <= joint.upper)) {
      throw InputError(fmt::format("parking posture: joint {} at {:.4g} {} is outside its range, {:.4g} to {:.4g}", joint.name,
                                   spec.parking[j] * unit, turns ? "deg" : "mm", joint.lower * unit, joint.upper * unit));
    }
  }
  const double length_s = static_cast<double>(take.ticks.size()) / take.id.physics_hz;
  if (length_s < 0.5) throw RunError(fmt::format("the take has {:.3f} s of motion; a joint trajectory needs 0.5 s", length_s));
  return Planner(take, arm, spec).Run();
}

Take PlannedTake(const Take& take, const ArmModel& arm, const Performance& performance, const JointPlan& plan) {
  Take out;
  out.id = take.id;
  out.id.physics_hz = plan.rate_hz;
  const auto per_frame = static_cast<size_t>(std::max(1.0, std::round(plan.rate_hz / take.id.frame_hz)));
  out.id.frame_hz = plan.rate_hz / static_cast<double>(per_frame);
  out.duration_s = plan.TimeOf(plan.points.size() - 1);
  out.camera = take.camera;
  out.person = take.person;
  out.bench_top = take.bench_top;
  out.keep_out = take.keep_out;
  out.X_WB = take.X_WB;
  out.arm_bodies = take.arm_bodies;
  out.joints = take.joints;
  out.moving_mass_kg = take.moving_mass_kg;
  out.payload_kg = take.payload_kg;
  out.props = take.props;
  out.startles = take.startles;
  out.faults = take.faults;
  for (size_t i = 0; i < plan.points.size(); ++i) {
    TakeTick tick;
    tick.q = tick.q_wish = plan.points[i].q;
    tick.qd = plan.points[i].qd;
    tick.torque = JointVector::Zero(tick.q.size());
    tick.p_WC.setZero();
    tick.q_WC.setIdentity();
    out.ticks.push_back(tick);
    if (i % per_frame != 0) continue;
    const double t_s = plan.TimeOf(i) - plan.lead_s;
    const double shown = std::clamp(std::round(t_s * take.id.frame_hz), 0.0, static_cast<double>(take.frames.size() - 1));
    TakeFrame frame = take.frames[static_cast<size_t>(shown)];
    const BodyPose on_floor = WithLunges(WithStartles(performance.PoseAt(t_s), take.startles, t_s), take.faults.lunges, t_s);
    frame.person = SeenFromBench(take.faults, on_floor, t_s);
    LinkPoses(arm, tick.q, &frame.X_WL);
    for (Eigen::Isometry3d& X : frame.X_WL) X = take.X_WB * X;
    out.frames.push_back(std::move(frame));
  }
  return out;
}

}  // namespace dryrig
