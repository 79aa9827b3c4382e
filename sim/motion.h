#pragma once

#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <vector>

#include "sim/rng.h"

namespace dryrig {

/// Minimum-jerk course from 0 to 1 for tau in [0, 1] (Flash & Hogan 1985); holds its ends outside. C2 everywhere.
inline double MinJerk(double tau) {
  if (tau <= 0) return 0;
  if (tau >= 1) return 1;
  return tau * tau * tau * (10 + tau * (-15 + 6 * tau));
}

/// 0 to 1 to 0 over tau in [0, 1], highest at 1/2; 0 outside. C2 everywhere.
inline double MinJerkBump(double tau) {
  if (tau <= 0 || tau >= 1) return 0;
  const double u = 4 * tau * (1 - tau);
  return u * u * u;
}

/// x up to `from`, beyond it drawn in so that `to` is never passed; 0 <= from < to. Odd and C2, so it limits without a kink.
inline double SoftLimit(double x, double from, double to) {
  const double size = std::abs(x);
  if (size <= from) return x;
  return std::copysign(from + (to - from) * std::tanh((size - from) / (to - from)), x);
}

/// Fitts's index of difficulty in bits, Shannon form.
double FittsIndex_bits(double distance_m, double width_m);
/// Time of an unhurried arm reach over a table to a target of this width.
double ReachTime_s(double distance_m, double width_m);

/// A vector over time, piecewise minimum jerk with holds between: C2, any t in any order. Times must not go back.
template <int N>
class MinJerkTrack {
 public:
  using Value = Eigen::Matrix<double, N, 1, Eigen::DontAlign>;

  explicit MinJerkTrack(const Value& start = Value::Zero()) : first_(start), last_(start) {}

  /// Moves from the value reached so far to `to` within [t0, t1]; at half of that time it lies `arc` beside the course. `early`
  /// in [0, 1): how much sooner than half-way it is fastest, as a reach to a small thing is: along the course its clock runs as
  /// tau + early tau (1 - tau).
  /// @pre end_s() <= t0 < t1.
  void MoveTo(double t0_s, double t1_s, const Value& to, const Value& arc = Value::Zero(), double early = 0) {
    assert(t0_s >= end_s() && t1_s > t0_s && early >= 0 && early < 1);
    starts_.push_back(t0_s);
    pieces_.push_back({t0_s, 1 / (t1_s - t0_s), early, last_, to - last_, arc});
    last_ = to;
    end_s_ = t1_s;
  }

  Value At(double t_s) const {
    const auto after = std::upper_bound(starts_.begin(), starts_.end(), t_s);
    if (after == starts_.begin()) return first_;
    const Piece& piece = pieces_[static_cast<size_t>(after - starts_.begin()) - 1];
    const double tau = (t_s - piece.start_s) * piece.rate;
    if (tau >= 1) return piece.from + piece.step;
    const double course = tau + piece.early * tau * (1 - tau);
    return piece.from + MinJerk(course) * piece.step + MinJerkBump(tau) * piece.arc;
  }

  const Value& last() const { return last_; }
  double end_s() const { return end_s_; }

 private:
  struct Piece {
    double start_s, rate, early;
    Value from, step, arc;
  };
  Value first_, last_;
  double end_s_ = 0;
  std::vector<double> starts_;
  std::vector<Piece> pieces_;
};

/// A slow or fast unrest: a sum of sines with seeded frequencies and phases.
class Wander {
 public:
  static constexpr int kSines = 2;
  Wander() = default;
  /// Root mean square `rms`, frequencies in [lo, hi].
  Wander(RandomStream& random, double rms, double lo_hz, double hi_hz);
  double At(double t_s) const {
    double sum = 0;
    for (int i = 0; i < kSines; ++i) sum += amplitude_ * std::sin(omega_[i] * t_s + phase_[i]);
    return sum;
  }

 private:
  double amplitude_ = 0;
  std::array<double, kSines> omega_{}, phase_{};
};

}  // namespace dryrig
