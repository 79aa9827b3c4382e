#pragma once

#include <deque>

#include "sim/arm_dynamics.h"
#include "sim/arm_world.h"
#include "sim/tracker.h"

namespace dryrig {

/// A time of its own for the path that a tracker lays, period by period: it may run slower than time, stand, and run back over
/// what it has passed. Set points are exact: q(τ), q'(τ)·r and q''·r² + q'·ṙ, where r is its rate.
class PathClock {
 public:
  /// Remembers `remembered_s` of the path.
  PathClock(double control_hz, double remembered_s);

  double rate() const { return rate_; }
  double slope() const { return slope_; }
  bool empty() const { return path_.empty(); }
  bool stands() const { return rate_ == 0 && slope_ == 0; }
  /// It is behind the end of the path, having run back.
  bool behind() const { return at_ + 1 < path_.size(); }
  /// Anything left to run back over.
  bool CanRunBack() const { return at_ > 0 || phase_s_ > 0; }
  /// The present period is over: the tracker is to be advanced and asked for the next (Lay), before the clock goes on.
  bool AtEnd() const { return path_.empty() || (!behind() && phase_s_ >= period_s_ - kRounding_s); }
  /// The path's next period, from what the tracker chose for it.
  void Lay(const Tracker& tracker);
  /// What is laid of the present period is laid anew: another choice for the same period. @pre the clock is at its beginning.
  void LayAgain(const Tracker& tracker);
  /// The path begins anew, at rest. @pre stands().
  void Forget();

  void SetPoint(JointSetPoint* out) const;
  /// Position and rate of the path at the clock: q and q'.
  void PathAt(JointVector* q, JointVector* v) const;
  /// Where the path was so long before the clock, at most at the beginning of what is remembered.
  JointVector PositionBefore(double before_s) const;
  /// q' at the end of the present period, and q'' there.
  void PathEnd(JointVector* v, JointVector* a) const;
  /// One tick on, its rate going toward `target` at no more than `down` and `up` a second, eased by `ease`.
  void Tick(double dt_s, double target, double down_per_s, double up_per_s, double ease_per_s2);

 private:
  static constexpr double kRounding_s = 1e-9;
  struct Period {
    JointVector q, v, a, slope;
  };
  static Period PeriodOf(const Tracker& tracker, double period_s);

  double period_s_;
  size_t most_;
  std::deque<Period> path_;
  size_t at_ = 0;       // the period it is in
  double phase_s_ = 0;  // into that
  double rate_ = 1, slope_ = 0;
};

}  // namespace dryrig
