#include "sim/joint_brake.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace dryrig {

namespace {

/// Rounding left after a plan's last period; a joint this slow stands.
constexpr double kStill = 1e-12;

/// Does a stretch of `d` seconds, its acceleration going linearly to `a1`, stay inside position and velocity bounds?
/// The start is taken to be inside.
bool Inside(const JointBounds& b, const PathState& s, double a1, double d) {
  const PathState end = Onward(s, a1, d);
  if (end.q < b.lower || end.q > b.upper || std::abs(end.v) > b.velocity) return false;
  const double jerk = (a1 - s.a) / d;
  double v_turn = end.v;  // velocity where the acceleration changes sign
  if (s.a * a1 < 0) {
    v_turn = s.v - s.a * s.a / (2 * jerk);
    if (std::abs(v_turn) > b.velocity) return false;
  }
  if (s.v * end.v > 0 && s.v * v_turn > 0) return true;  // never turns back: the ends are the extremes
  // v + a t + jerk t²/2 = 0
  const double root = s.a * s.a - 2 * jerk * s.v;
  if (root < 0) return true;
  const double w = -(s.a + std::copysign(std::sqrt(root), s.a));
  for (const double t : {w / jerk, w != 0 ? 2 * s.v / w : 0.0}) {
    if (!(t > 0 && t < d)) continue;
    const double q = s.q + t * (s.v + t * (s.a / 2 + t * jerk / 6));
    if (q < b.lower || q > b.upper) return false;
  }
  return true;
}

/// The quickest of the plans of this form that keep acceleration and jerk in bounds, or nearly.
std::optional<BrakePlan> FindBrake(const JointBounds& b, const PathState& s, double period_s) {
  if (std::abs(s.v) < kStill && std::abs(s.a) < kStill) return BrakePlan{};
  // Seen so that velocity is left over when the acceleration has gone: brake with -p.
  const double side = s.v + s.a * std::abs(s.a) / (2 * b.jerk) >= 0 ? 1 : -1;
  const double v = side * s.v, a = side * s.a;
  const double step = b.jerk * period_s;
  const double p_best = std::min(b.acceleration, std::sqrt(std::max(0.0, b.jerk * v + a * a / 2)));
  int in = std::max(1, static_cast<int>(std::ceil((p_best + a) / step)));
  int out = std::max(1, static_cast<int>(std::ceil(p_best / step)));
  const double left = (v + in * period_s * a / 2) / (b.acceleration * period_s) - 0.5 * (in + out);
  int hold = std::max(0, static_cast<int>(std::ceil(left)));
  for (int attempt = 0; attempt < 24; ++attempt) {
    const double p = (v + in * period_s * a / 2) / (period_s * (0.5 * in + hold + 0.5 * out));
    if (std::abs(a + p) > step * in) {
      ++in;
    } else if (std::abs(p) > step * out) {
      ++out;
    } else if (std::abs(p) > b.acceleration) {
      ++hold;
    } else {
      return BrakePlan{in, hold, out, -side * p};
    }
  }
  return std::nullopt;
}

bool StopsInside(const JointBounds& b, const PathState& s, const BrakePlan& plan, double period_s) {
  PathState at = s;
  const auto pass = [&](int periods, double a1) {
    if (periods == 0) return true;
    const double d = periods * period_s;
    if (!Inside(b, at, a1, d)) return false;
    at = Onward(at, a1, d);
    return true;
  };
  return pass(plan.in, plan.peak) && pass(plan.hold, plan.peak) && pass(plan.out, 0);
}

}  // namespace

PathState Onward(const PathState& s, double a_next, double period_s) {
  return {s.q + period_s * (s.v + period_s * (2 * s.a + a_next) / 6), s.v + period_s * (s.a + a_next) / 2, a_next};
}

double BrakePlan::Next(double a_now) const {
  if (in > 0) return a_now + (peak - a_now) / in;
  if (hold > 0) return peak;
  return out > 0 ? a_now * (out - 1) / out : 0;
}

void BrakePlan::Advance() {
  if (in > 0) {
    --in;
  } else if (hold > 0) {
    --hold;
  } else if (out > 0) {
    --out;
  }
}

bool JointRail::Stoppable(double a_next, BrakePlan* brake) const {
  if (!Inside(bounds_, now_, a_next, period_s_)) return false;
  const PathState next = Onward(now_, a_next, period_s_);
  const std::optional<BrakePlan> plan = FindBrake(bounds_, next, period_s_);
  if (!plan || !StopsInside(bounds_, next, *plan, period_s_)) return false;
  *brake = *plan;
  return true;
}

double JointRail::Choose(double a_wanted) {
  const double step = bounds_.jerk * period_s_;
  const double lo = std::max(-bounds_.acceleration, now_.a - step);
  const double hi = std::min(bounds_.acceleration, now_.a + step);
  const double wanted = std::clamp(a_wanted, lo, hi);
  chosen_ = true;
  a_next_ = wanted;
  if (Stoppable(wanted, &brake_next_)) return a_next_;
  // The plan in hand is one way; go from it toward the wish as far as a way to stop is found.
  a_next_ = brake_.Next(now_.a);
  brake_next_ = brake_;
  brake_next_.Advance();
  double good = a_next_, bad = wanted;
  for (int halving = 0; halving < 10; ++halving) {
    const double middle = 0.5 * (good + bad);
    if (Stoppable(middle, &brake_next_)) {
      good = a_next_ = middle;
    } else {
      bad = middle;
    }
  }
  return a_next_;
}

void JointRail::Advance() {
  if (!chosen_) {
    a_next_ = brake_.Next(now_.a);
    brake_next_ = brake_;
    brake_next_.Advance();
  }
  now_ = Onward(now_, a_next_, period_s_);
  brake_ = brake_next_;
  chosen_ = false;
  if (std::abs(now_.v) < kStill && std::abs(now_.a) < kStill) now_.v = now_.a = 0;
}

}  // namespace dryrig
