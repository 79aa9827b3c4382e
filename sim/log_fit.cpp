#include "sim/log_fit.h"

#include <fmt/format.h>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>

#include "sim/arm_world.h"
#include "sim/delay.h"
#include "sim/kinematics.h"
#include "sim/spline_track.h"

namespace dryrig {

namespace {

constexpr double kHz = 240, kIndependent_s = 0.1;
constexpr double kMost_s = 20;         // of a log that are simulated again and again
constexpr double kSettle_s = 0.5;      // left out while the simulated arm comes to where the real one was
constexpr double kLeastTravel = 0.05;  // rad or m, of some joint
constexpr int kStride = 4;             // ticks between residuals
constexpr double kKnownLatency_s = 0.005, kKnownShare = 0.25;
constexpr double kMostLatency_s = 0.1;

/// Where the kMost_s begin in which the commanded joints go farthest.
double BusiestFrom(const JointLog& log) {
  std::vector<double> way(1, 0);
  for (size_t i = 1; i < log.t_s.size(); ++i)
    way.push_back(way.back() + (log.q_commanded[i] - log.q_commanded[i - 1]).lpNorm<1>());
  double best = -1, from_s = log.start_s();
  for (size_t a = 0, b = 0; a < way.size(); ++a) {
    while (b + 1 < way.size() && log.t_s[b + 1] - log.t_s[a] <= kMost_s) ++b;
    if (way[b] - way[a] > best) best = way[b] - way[a], from_s = log.t_s[a];
  }
  return from_s;
}

/// The log on an even clock, and the arm told what it was told.
class ServoTrial {
 public:
  ServoTrial(const Stage& stage, const JointLog& log) : stage_(stage) {
    const LogCurve measured(log.t_s, log.q), commanded(log.t_s, log.q_commanded);
    const double from_s = BusiestFrom(log);
    ticks_ = static_cast<size_t>(std::floor((std::min(log.end_s(), from_s + kMost_s) - from_s) * kHz)) + 1;
    const auto dof = static_cast<size_t>(stage.arm.dof());
    std::vector<double> rows;
    JointVector q;
    for (size_t i = 0; i < ticks_; ++i) {
      const double t_s = from_s + static_cast<double>(i) / kHz;
      commanded.At(t_s, &q, nullptr);
      rows.insert(rows.end(), q.begin(), q.end());
      measured.At(t_s, &q, nullptr);
      measured_.push_back(q);
    }
    const SplineTrack track(rows, dof);
    for (size_t i = 0; i < ticks_; ++i) {
      JointSetPoint point;
      point.q.resize(stage.arm.dof()), point.qd = point.q, point.qdd = point.q;
      const auto u = static_cast<double>(i);
      track.At(u, point.q.data());
      track.RatesAt(u, point.qd.data(), point.qdd.data());
      point.qd *= kHz, point.qdd *= kHz * kHz;
      commanded_.push_back(point);
    }
  }

  /// Simulated less measured, every kStride ticks; all joints.
  Eigen::VectorXd Residual(const Servo& servo) const {
    Stage stage = stage_;
    stage.arm.servo = servo;
    ArmWorld world(stage, {}, commanded_.front().q, kHz);
    std::vector<double> out;
    for (size_t i = 0; i + 1 < ticks_; ++i) {
      if (static_cast<double>(i) >= kSettle_s * kHz && i % kStride == 0) {
        for (int j = 0; j < world.q().size(); ++j) out.push_back(world.q()[j] - measured_[i][j]);
      }
      world.Step(commanded_[i], {});
    }
    return Eigen::Map<const Eigen::VectorXd>(out.data(), static_cast<Eigen::Index>(out.size()));
  }

  double seconds() const { return static_cast<double>(ticks_) / kHz; }

 private:
  const Stage& stage_;
  size_t ticks_ = 0;
  std::vector<JointVector> measured_;
  std::vector<JointSetPoint> commanded_;
};

/// The servo's numbers as the fit turns them: latency in seconds, the others by their logarithm.
using Params = Eigen::Vector3d;
Servo ServoOf(const Params& x, Servo servo) {
  servo.latency_s = std::clamp(x[0], 0.0, kMostLatency_s);
  servo.bandwidth_hz = std::clamp(std::exp(x[1]), 0.5, 30.0);
  servo.damping_ratio = std::clamp(std::exp(x[2]), 0.3, 3.0);
  return servo;
}
Params ParamsOf(const Servo& servo) {
  return {servo.latency_s, std::log(servo.bandwidth_hz), std::log(servo.damping_ratio)};
}

struct Solved {
  Params x;
  double cost = std::numeric_limits<double>::infinity();
  Eigen::MatrixXd jacobian;
};

Solved Solve(const ServoTrial& trial, const Servo& from) {
  const Params steps{0.002, 0.05, 0.1};
  Solved best;
  best.x = ParamsOf(from);
  Eigen::VectorXd r = trial.Residual(ServoOf(best.x, from));
  best.cost = r.squaredNorm();
  double damping = 1e-3;
  for (int round = 0; round < 8; ++round) {
    best.jacobian.resize(r.size(), 3);
    for (int k = 0; k < 3; ++k) {
      Params up = best.x, down = best.x;
      up[k] += steps[k], down[k] -= steps[k];
      const Servo high = ServoOf(up, from), low = ServoOf(down, from);
      const double apart = ParamsOf(high)[k] - ParamsOf(low)[k];
      best.jacobian.col(k) = (trial.Residual(high) - trial.Residual(low)) / apart;
    }
    Eigen::Matrix3d H = best.jacobian.transpose() * best.jacobian;
    const Eigen::Vector3d g = best.jacobian.transpose() * r;
    bool better = false;
    for (int tries = 0; tries < 5 && !better; ++tries) {
      Eigen::Matrix3d damped = H;
      damped.diagonal() += damping * H.diagonal() + Eigen::Vector3d::Constant(1e-15);
      const Params next = ParamsOf(ServoOf(best.x - damped.ldlt().solve(g), from));
      const Eigen::VectorXd r_next = trial.Residual(ServoOf(next, from));
      if (r_next.squaredNorm() < best.cost) {
        const double gain = 1 - r_next.squaredNorm() / best.cost;
        best.x = next, best.cost = r_next.squaredNorm(), r = r_next;
        damping = std::max(1e-6, damping / 5);
        better = true;
        if (gain < 1e-4) return best;
      } else {
        damping *= 10;
      }
    }
    if (!better) break;
  }
  return best;
}

}  // namespace

ServoFit FitServo(const Stage& stage, const JointLog& log) {
  if (log.q_commanded.empty())
    throw InputError(
        fmt::format("{}: no commanded joints; how the servo follows cannot be told from measured ones alone", log.name));
  double travel = 0;
  for (int j = 0; j < stage.arm.dof(); ++j) {
    const auto [least, most] = std::minmax_element(log.q_commanded.begin(), log.q_commanded.end(),
                                                   [j](const auto& a, const auto& b) { return a[j] < b[j]; });
    travel = std::max(travel, (*most)[j] - (*least)[j]);
  }
  if (travel < kLeastTravel)
    throw InputError(fmt::format(
        "{}: no joint is told to go farther than {:.3f} rad; a servo cannot be told from an arm that stands", log.name, travel));
  const ServoTrial trial(stage, log);
  const Servo was = stage.arm.servo;
  const Eigen::VectorXd r0 = trial.Residual(was);
  // The latency's valley is narrow: begin where measured and commanded match.
  const auto joints = [&log](const std::vector<Eigen::VectorXd>& q) {
    const LogCurve curve(log.t_s, q);
    return Sampled(log.start_s(), log.end_s(), 200, static_cast<size_t>(q.front().size()), [&curve](double t_s, double* out) {
      JointVector at;
      curve.At(t_s, &at, nullptr);
      std::copy(at.begin(), at.end(), out);
    });
  };
  Servo from = was;
  from.latency_s =
      std::clamp(FindDelay(joints(log.q_commanded), joints(log.q), -0.02, kMostLatency_s).delay_s, 0.0, kMostLatency_s);
  const Solved solved = Solve(trial, from);
  const auto n = static_cast<double>(r0.size());
  ServoFit out;
  out.before = std::sqrt(r0.squaredNorm() / n);
  out.after = std::sqrt(solved.cost / n);
  // What is left is no white noise: neighbouring samples err alike.
  const double independent = std::max(4.0, trial.seconds() / kIndependent_s * stage.arm.dof());
  Eigen::Matrix3d H = solved.jacobian.transpose() * solved.jacobian;
  H.diagonal() += Eigen::Vector3d::Constant(1e-12);
  const Eigen::Vector3d sigma = (H.inverse().diagonal() * (solved.cost / n) * (n / independent)).cwiseMax(0).cwiseSqrt();
  const Servo fitted = ServoOf(solved.x, was);
  out.latency_s = {fitted.latency_s, sigma[0], sigma[0] < kKnownLatency_s, ""};
  out.bandwidth_hz = {fitted.bandwidth_hz, sigma[1] * fitted.bandwidth_hz, sigma[1] < kKnownShare, ""};
  out.damping_ratio = {fitted.damping_ratio, sigma[2] * fitted.damping_ratio, sigma[2] < kKnownShare, ""};
  const auto keep = [](Estimate* one, double was_value) {
    if (one->known) return;
    one->why = fmt::format("uncertain by {:.3g}: this log does not tell it, the arm file's is kept", one->sigma);
    one->value = was_value;
  };
  keep(&out.latency_s, was.latency_s);
  keep(&out.bandwidth_hz, was.bandwidth_hz);
  keep(&out.damping_ratio, was.damping_ratio);
  return out;
}

MountFit FitMount(const Stage& stage, const JointLog& log, const CameraTrack& track, const LogClock& clock) {
  const ArmModel& arm = stage.arm;
  const LogCurve curve(log.t_s, log.q);
  std::vector<Eigen::Isometry3d> found, X_BL;
  for (size_t i = 0; i < track.t_s.size(); ++i) {
    const double t_s = clock.LogTime(track.t_s[i]);
    if (t_s < log.start_s() || t_s > log.end_s()) continue;
    JointVector q;
    curve.At(t_s, &q, nullptr);
    LinkPoses(arm, q, &X_BL);
    found.push_back((stage.bench.X_WB * X_BL.back()).inverse() * track.X_WC[i]);
  }
  const double seconds = static_cast<double>(found.size()) / track.rate_hz;
  if (seconds < 2)
    throw InputError(
        fmt::format("{} and {} have {:.2f} s in common; 2 s are needed for the camera's mount", log.name, track.name, seconds));
  Eigen::Vector3d p = Eigen::Vector3d::Zero();
  Eigen::Matrix3d R = Eigen::Matrix3d::Zero();
  for (const Eigen::Isometry3d& X : found) p += X.translation(), R += X.linear();
  p /= static_cast<double>(found.size());
  const Eigen::JacobiSVD<Eigen::Matrix3d> svd(R, Eigen::ComputeFullU | Eigen::ComputeFullV);
  MountFit out;
  out.X_EC.linear() = svd.matrixU() *
                      Eigen::Vector3d(1, 1, (svd.matrixU() * svd.matrixV().transpose()).determinant()).asDiagonal() *
                      svd.matrixV().transpose();
  out.X_EC.translation() = p;
  for (const Eigen::Isometry3d& X : found) {
    out.left_m += (X.translation() - p).squaredNorm();
    const double angle = Eigen::AngleAxisd(out.X_EC.linear().transpose() * X.linear()).angle();
    out.left_rad += angle * angle;
  }
  out.left_m = std::sqrt(out.left_m / static_cast<double>(found.size()));
  out.left_rad = std::sqrt(out.left_rad / static_cast<double>(found.size()));
  const double independent = std::sqrt(seconds / kIndependent_s);
  out.sigma_m = out.left_m / independent;
  out.sigma_rad = out.left_rad / independent;
  return out;
}

Estimate FitTrackerDelay(const Recording& outside, const Recording& live, const LogClock& clock) {
  std::vector<TrackPoint> common;
  for (const TrackPoint point : {TrackPoint::kWristL, TrackPoint::kWristR, TrackPoint::kElbowL, TrackPoint::kElbowR,
                                 TrackPoint::kShoulderL, TrackPoint::kShoulderR}) {
    if (outside.Has(point) && live.Has(point)) common.push_back(point);
  }
  if (common.empty()) throw InputError(fmt::format("{} and {} have no point of the arms in common", outside.name, live.name));
  constexpr double kRate_hz = 100, kMost_s = 1;
  const auto sampled = [&common](const Recording& r, double from_s, double to_s, const std::function<double(double)>& time) {
    return Sampled(from_s, to_s, kRate_hz, 3 * common.size(), [&](double t_s, double* out) {
      const double u = std::clamp((time(t_s) - r.start_s) * r.rate_hz, 0.0, static_cast<double>(r.frames - 1));
      const auto f = std::min(static_cast<size_t>(u), r.frames - 2);
      const double s = u - static_cast<double>(f);
      for (size_t c = 0; c < common.size(); ++c) {
        const Eigen::Vector3d p = (1 - s) * r.At(f, common[c]) + s * r.At(f + 1, common[c]);
        std::copy(p.data(), p.data() + 3, out + 3 * c);
      }
    });
  };
  const double end_s = outside.start_s + outside.duration_s();
  const EvenSignal a = sampled(outside, outside.start_s, end_s, [](double t_s) { return t_s; });
  const EvenSignal b = sampled(live, clock.TrackTime(live.start_s), clock.TrackTime(live.start_s + live.duration_s()),
                               [&clock](double t_s) { return clock.LogTime(t_s); });
  const Delay delay = FindDelay(a, b, -kMost_s, kMost_s);
  constexpr double kLeastMatch = 0.7;
  if (delay.match < kLeastMatch)
    throw InputError(fmt::format("{} and {} match by {:.2f} at best ({} is needed): not the same person's motion", outside.name,
                                 live.name, delay.match, kLeastMatch));
  return {delay.delay_s, delay.sigma_s, true, ""};
}

}  // namespace dryrig
