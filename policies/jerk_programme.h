#pragma once

#include <Eigen/Core>
#include <array>

namespace dryrig {

/// The motion of up to eight joints over the coming seconds as blocks of constant jerk: short ones first, since only what comes
/// soon must be told finely. Positions, speeds and accelerations are linear in the jerks, so a quadratic cost of motion under
/// limits is a small quadratic programme.
class JerkProgramme {
 public:
  static constexpr int kBlocks = 8, kMostJoints = 8, kMostUnknowns = kBlocks * kMostJoints;
  static constexpr int kMostExtra = 8;
  static constexpr int kRows = 4 * kBlocks;  // bounded: position, speed, acceleration at block ends; jerk
  using Joints = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMostJoints, 1>;
  using Weights = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMostJoints, kMostJoints>;
  using Blocks = Eigen::Matrix<double, Eigen::Dynamic, kBlocks, 0, kMostJoints, kBlocks>;  // a row a joint
  struct State {
    Joints q, v, a;
  };
  struct Bounds {
    Joints lower, upper, velocity, acceleration, jerk;
  };

  /// `period_s`: of control, s; blocks are whole numbers of it.
  explicit JerkProgramme(double period_s);

  /// End of each block, s.
  const std::array<double, kBlocks>& ends_s() const { return ends_s_; }
  /// The state after `t_s` of the jerks; past the last block the joints stand.
  State After(const State& start, const Blocks& jerks, double t_s) const;

  /// Begins anew for a start, under bounds that it keeps at block ends; no cost yet.
  void Begin(const State& start, const Bounds& bounds);
  /// Adds (x - at)ᵀ W (x - at) + 2 slopeᵀ (x - at), x being the posture at the end of block `k` plus `onward_s` times the speed
  /// there.
  void AddCost(int k, const Joints& at, const Weights& W, const Joints& slope, double onward_s = 0);
  /// Adds the integral over time of jᵀ W j, j the jerks.
  void AddJerkCost(const Weights& W);
  /// One more bound: wayᵀ x at least `least`, x the posture at the end of block `k`, in some unit of which a hundredth is small.
  /// At most kMostExtra of them.
  void AddLeast(int k, const Joints& way, double least);
  /// The jerks of least cost, a bound being passed at a price that makes it hold to well below a hundredth: Newton's method on
  /// that piecewise quadratic, in a bounded number of steps.
  Blocks Solve() const;
  /// The greatest share by which the jerks pass a bound (of half the range for positions); 0: none.
  double Excess(const Blocks& jerks) const;

 private:
  using Rows = Eigen::Matrix<double, Eigen::Dynamic, kRows, 0, kMostJoints, kRows>;
  using Unknowns = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMostUnknowns, 1>;
  using Hessian = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMostUnknowns, kMostUnknowns>;
  using Extras = Eigen::Matrix<double, Eigen::Dynamic, kMostExtra, 0, kMostUnknowns, kMostExtra>;
  using Extra = Eigen::Matrix<double, kMostExtra, 1>;
  using Row = Eigen::Matrix<double, kBlocks, 1>;

  int joints() const { return static_cast<int>(start_.q.size()); }
  Rows Bounded(const Blocks& shares) const;

  double period_s_;
  std::array<double, kBlocks> ends_s_, lengths_s_;
  Eigen::Matrix<double, kBlocks, kRows> map_;  // of unit jerks to rows
  State start_;
  Joints unit_;              // unknowns are shares of this jerk
  Rows scale_, low_, high_;  // rows times their scale lie between
  Hessian H_;
  Unknowns g_;
  int extras_ = 0;
  Extras extra_;  // a column each, of unknowns
  Extra extra_least_;
};

}  // namespace dryrig
