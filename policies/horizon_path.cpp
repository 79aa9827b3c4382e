#include "policies/horizon_path.h"

#include <algorithm>
#include <cmath>

#include "policies/way_round.h"
#include "sim/kinematics.h"

namespace dryrig {

namespace {

constexpr int kFirstSeen = 2;  // block from which on the picture can still be changed
constexpr double kVelocityShare = 0.85, kAccelerationShare = 0.8, kJerkShare = 0.8;
constexpr double kRailShare = 1.05;    // of these, that single ticks may use
constexpr double kTail_s = 0.5;        // what comes after the last block counts as so much of its end
constexpr double kDamping_1_rad2 = 2;  // squared tolerances a squared radian off the posture that a picture is linearised at
constexpr double kSlack = 0.02;        // squared metres a squared radian: what a joint's jerk costs that does not move the camera
constexpr double kGapUnit_m = 0.1;
constexpr double kArrived_rad = 0.25;
constexpr double kMargin_rad = 0.04;

}  // namespace

void HorizonPath::Reset(const ViewSolver& solver, const Stage& stage, const HorizonTuning& tuning) {
  *this = HorizonPath();
  solver_ = &solver;
  stage_ = &stage;
  tuning_ = tuning;
  still_.emplace(stage);
}

JerkProgramme::State HorizonPath::now() const {
  const auto n = static_cast<Eigen::Index>(rails_.size());
  JerkProgramme::State state{JerkProgramme::Joints(n), JerkProgramme::Joints(n), JerkProgramme::Joints(n)};
  for (Eigen::Index i = 0; i < n; ++i) {
    const PathState& now = rails_[static_cast<size_t>(i)].now();
    state.q[i] = now.q, state.v[i] = now.v, state.a[i] = now.a;
  }
  return state;
}

void HorizonPath::Plan(const Eigen::VectorXd& goal, const PersonGuess& person) {
  via_.resize(0);
  if (!rails_.empty()) via_ = WayRound(*solver_, now().q, goal, person);
}

void HorizonPath::AddPictures(const Eigen::VectorXd& goal, const Outlook& outlook, const std::vector<Eigen::VectorXd>& about) {
  const Eigen::VectorXd& target = via_.size() > 0 ? via_ : goal;
  const auto& ends_s = programme_->ends_s();
  const auto n = static_cast<Eigen::Index>(rails_.size());
  ViewSolver::Rows r;
  ViewSolver::RowJacobian J;
  for (size_t k = kFirstSeen; k < about.size(); ++k) {
    const bool last = k + 1 == about.size();
    const double share_s = 0.5 * ((last ? ends_s[k] : ends_s[k + 1]) - ends_s[k - 1]);
    const auto counts = solver_->Residuals(outlook.pictures[k], outlook.people[k], about[k], goal, &r, &J);
    // Far off, the picture's own slope leads nowhere; the posture sought does.
    const double off = r.head(counts.framing).squaredNorm();
    const double counted = 1 / (1 + off / (tuning_.far_off * tuning_.far_off));
    r.head(counts.framing) *= counted;
    J.topRows(counts.framing) *= counted;
    const double pull = tuning_.goal_pull * (1 - counted);
    JerkProgramme::Weights W = J.transpose() * J;
    const JerkProgramme::Joints slope = J.transpose() * r + pull * (about[k] - target);
    W += (pull + kDamping_1_rad2) * JerkProgramme::Weights::Identity(n, n);
    programme_->AddCost(static_cast<int>(k), about[k], share_s * W, share_s * slope);
    const ViewSolver::Nearness near = solver_->NearestTo(outlook.people[k], about[k], tuning_.trunk_more_m);
    if (near.gap_m < 2 * tuning_.least_gap_m) {
      const JerkProgramme::Joints opening = near.opening / kGapUnit_m;
      programme_->AddLeast(static_cast<int>(k), opening, (tuning_.least_gap_m - near.gap_m) / kGapUnit_m + opening.dot(about[k]));
    }
    if (last) programme_->AddCost(static_cast<int>(k), about[k], kTail_s * W, kTail_s * slope, kTail_s);
  }
}

Eigen::VectorXd HorizonPath::Step(const Eigen::VectorXd& q, const Eigen::VectorXd& goal, const Outlook& outlook, int rounds,
                                  double dt_s) {
  const ArmModel& arm = stage_->arm;
  const int n = arm.dof();
  if (rails_.empty()) {
    if (dt_s <= 0) return q;
    programme_.emplace(dt_s);
    for (auto* bound : {&bounds_.lower, &bounds_.upper, &bounds_.velocity, &bounds_.acceleration, &bounds_.jerk})
      bound->resize(n);
    for (int i = 0; i < n; ++i) {
      const Joint& joint = arm.joints[static_cast<size_t>(i)];
      const double margin = std::min(kMargin_rad, 0.05 * (joint.upper - joint.lower));
      bounds_.lower[i] = std::min(joint.lower + margin, q[i]);
      bounds_.upper[i] = std::max(joint.upper - margin, q[i]);
      bounds_.velocity[i] = tuning_.pace * kVelocityShare * joint.velocity;
      bounds_.acceleration[i] = tuning_.pace * kAccelerationShare * joint.acceleration;
      bounds_.jerk[i] = tuning_.pace * kJerkShare * joint.jerk;
      rails_.emplace_back(JointBounds{bounds_.lower[i], bounds_.upper[i], kRailShare * bounds_.velocity[i],
                                      kRailShare * bounds_.acceleration[i], kRailShare * bounds_.jerk[i]},
                          q[i], dt_s);
    }
    planned_from_ = this->now();
    jerks_ = JerkProgramme::Blocks::Zero(n, JerkProgramme::kBlocks);
  }
  const JerkProgramme::State now = this->now();
  if (via_.size() > 0) {
    const bool there = (now.q - via_).cwiseAbs().maxCoeff() < kArrived_rad;
    if (there || solver_->TooNearOnPath(outlook.people[0], now.q, goal) < kFreePath) via_.resize(0);
  }
  far_ = (now.q - goal).cwiseAbs().maxCoeff();

  std::vector<Eigen::VectorXd> about;
  for (const double end_s : programme_->ends_s()) {
    about.push_back(solver_->Clamped(programme_->After(planned_from_, jerks_, end_s + dt_s).q));
  }
  const Jacobian Jc = CameraJacobian(arm, now.q);
  const JerkProgramme::Weights jerk_weights =
      tuning_.jerk_price *
      (JerkProgramme::Weights(Jc.topRows<3>().transpose() * Jc.topRows<3>() +
                              tuning_.turn_lever_m * tuning_.turn_lever_m * Jc.bottomRows<3>().transpose() * Jc.bottomRows<3>()) +
       kSlack * JerkProgramme::Weights::Identity(n, n));
  planned_from_ = now;
  for (int round = 0; round < rounds; ++round) {
    programme_->Begin(now, bounds_);
    programme_->AddJerkCost(jerk_weights);
    AddPictures(goal, outlook, about);
    jerks_ = programme_->Solve();
    for (size_t k = 0; k < about.size(); ++k) {
      about[k] = solver_->Clamped(programme_->After(now, jerks_, programme_->ends_s()[k]).q);
    }
  }

  Eigen::VectorXd a_next = now.a + dt_s * jerks_.col(0);
  const Eigen::VectorXd v_next = now.v + 0.5 * dt_s * (now.a + a_next);
  const Eigen::VectorXd slowed = still_->Slowed(now.q, v_next);
  const bool held = (slowed - v_next).norm() > 1e-9;
  if (held) a_next = (slowed - now.v) / dt_s;
  for (int i = 0; i < n; ++i) {
    rails_[static_cast<size_t>(i)].Choose(a_next[i]);
    rails_[static_cast<size_t>(i)].Advance();
  }
  const JerkProgramme::State next = this->now();
  if (held) return solver_->Clamped(next.q + tuning_.lead_s * next.v);
  const Eigen::VectorXd ahead = programme_->After(now, jerks_, dt_s + tuning_.lead_s).q - programme_->After(now, jerks_, dt_s).q;
  return solver_->Clamped(next.q + ahead);
}

}  // namespace dryrig
