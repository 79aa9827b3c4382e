#pragma once

namespace dryrig {

/// What one joint's set point may do. Radians or metres, seconds.
struct JointBounds {
  double lower = 0, upper = 0, velocity = 0, acceleration = 0, jerk = 0;
};

/// A joint's set point at the border of two control periods.
struct PathState {
  double q = 0, v = 0, a = 0;
};

/// The state one period of `period_s` on, in which the acceleration goes linearly to `a_next`.
PathState Onward(const PathState& s, double a_next, double period_s);

/// A way to stop in whole periods: so many to `peak`, so many at it, so many back to nothing.
struct BrakePlan {
  int in = 0, hold = 0, out = 0;
  double peak = 0;  // acceleration, signed

  /// The plan's acceleration one period on.
  double Next(double a_now) const;
  void Advance();
};

/// The set point of one joint, with the proof in hand that it can stop inside its bounds: at any time `brake` is a way to do so.
class JointRail {
 public:
  /// @pre q0 inside the bounds.
  JointRail(const JointBounds& bounds, double q0, double period_s) : bounds_(bounds), period_s_(period_s), now_{q0, 0, 0} {}

  /// The acceleration at the end of the present period: the one wanted, or the nearest found from which the joint can still
  /// stop inside its bounds.
  double Choose(double a_wanted);
  /// Takes the last Choose back.
  void Forget() { chosen_ = false; }
  /// Ends the period; without a Choose in it the joint brakes.
  void Advance();

  const PathState& now() const { return now_; }
  double a_next() const { return chosen_ ? a_next_ : brake_.Next(now_.a); }
  const JointBounds& bounds() const { return bounds_; }

 private:
  bool Stoppable(double a_next, BrakePlan* brake) const;

  JointBounds bounds_;
  double period_s_;
  PathState now_;
  BrakePlan brake_;  // from now_
  bool chosen_ = false;
  double a_next_ = 0;
  BrakePlan brake_next_;  // from the period's end
};

}  // namespace dryrig
