#include "sim/path_clock.h"

#include <algorithm>
#include <cmath>

namespace dryrig {

PathClock::PathClock(double control_hz, double remembered_s)
    : period_s_(1 / control_hz), most_(static_cast<size_t>(std::ceil(remembered_s * control_hz)) + 1) {}

PathClock::Period PathClock::PeriodOf(const Tracker& tracker, double period_s) {
  JointSetPoint begin, end;
  tracker.At(0, &begin);
  tracker.At(period_s, &end);
  return {begin.q, begin.qd, begin.qdd, (end.qdd - begin.qdd) / period_s};
}

void PathClock::Lay(const Tracker& tracker) {
  if (!path_.empty()) phase_s_ = std::max(0.0, phase_s_ - period_s_);
  const Period next = PeriodOf(tracker, period_s_);
  const auto still = [](const Period& p) { return p.v.isZero(0) && p.a.isZero(0) && p.slope.isZero(0); };
  if (!path_.empty() && still(path_.back()) && still(next)) path_.pop_back();  // rest is no way to run back over
  path_.push_back(next);
  if (path_.size() > most_) path_.pop_front();
  at_ = path_.size() - 1;
}

void PathClock::LayAgain(const Tracker& tracker) {
  path_.back() = PeriodOf(tracker, period_s_);
}

void PathClock::Forget() {
  path_.clear();
  at_ = 0;
  phase_s_ = 0;
}

void PathClock::SetPoint(JointSetPoint* out) const {
  const Period& p = path_[at_];
  const double s = phase_s_;
  out->q = p.q + s * (p.v + s * (p.a / 2 + s * p.slope / 6));
  const JointVector v = p.v + s * (p.a + s * p.slope / 2), a = p.a + s * p.slope;
  out->qd = rate_ * v;
  out->qdd = rate_ * rate_ * a + slope_ * v;
}

void PathClock::PathAt(JointVector* q, JointVector* v) const {
  const Period& p = path_[at_];
  const double s = phase_s_;
  *q = p.q + s * (p.v + s * (p.a / 2 + s * p.slope / 6));
  *v = p.v + s * (p.a + s * p.slope / 2);
}

JointVector PathClock::PositionBefore(double before_s) const {
  size_t at = at_;
  double s = phase_s_ - before_s;
  while (s < 0 && at > 0) {
    --at;
    s += period_s_;
  }
  const Period& p = path_[at];
  s = std::max(s, 0.0);
  return p.q + s * (p.v + s * (p.a / 2 + s * p.slope / 6));
}

void PathClock::PathEnd(JointVector* v, JointVector* a) const {
  const Period& p = path_[at_];
  *v = p.v + period_s_ * (p.a + period_s_ * p.slope / 2);
  *a = p.a + period_s_ * p.slope;
}

void PathClock::Tick(double dt_s, double target, double down_per_s, double up_per_s, double ease_per_s2) {
  const double gap = target - rate_;
  const double most = gap < 0 ? down_per_s : up_per_s;
  const double wish = std::copysign(std::min(most, std::sqrt(ease_per_s2 * std::abs(gap))), gap);
  const double change = ease_per_s2 * dt_s;
  const double slope_before = slope_;
  slope_ += std::clamp(wish - slope_, -change, change);
  double next = rate_ + 0.5 * dt_s * (slope_before + slope_);
  if ((target - next) * gap <= 0 && std::abs(slope_) <= 2 * change) {
    next = target;
    slope_ = 0;
  }
  phase_s_ += 0.5 * dt_s * (rate_ + next);
  rate_ = next;
  while (phase_s_ < 0 && at_ > 0) {
    --at_;
    phase_s_ += period_s_;
  }
  if (phase_s_ < 0) {  // the end of what it remembers: it was asked to stand before
    phase_s_ = 0;
    rate_ = slope_ = 0;
  }
  while (behind() && phase_s_ >= period_s_) {
    ++at_;
    phase_s_ -= period_s_;
  }
}

}  // namespace dryrig
