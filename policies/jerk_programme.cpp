#include "policies/jerk_programme.h"

#include <Eigen/Cholesky>
#include <algorithm>

namespace dryrig {

namespace {

constexpr std::array<int, JerkProgramme::kBlocks> kPeriods{2, 3, 4, 6, 8, 10, 12, 15};
constexpr double kRounding_s = 1e-9;
constexpr int kHalvings = 20;
constexpr int kMostSteps = 20;       // of Newton's method; it ends by itself when the same bounds hold twice, most often in three
constexpr double kBoundPrice = 1e3;  // of a bound passed, times the greatest curvature of the cost

}  // namespace

JerkProgramme::JerkProgramme(double period_s) : period_s_(period_s) {
  double end_s = 0;
  for (size_t k = 0; k < kBlocks; ++k) {
    lengths_s_[k] = kPeriods[k] * period_s;
    end_s += lengths_s_[k];
    ends_s_[k] = end_s;
  }
  map_.setZero();
  for (int k = 0; k < kBlocks; ++k) {
    for (int j = 0; j <= k; ++j) {
      const double d = lengths_s_[static_cast<size_t>(j)];
      const double on = ends_s_[static_cast<size_t>(k)] - ends_s_[static_cast<size_t>(j)];
      map_(j, k) = d * d * d / 6 + d * d / 2 * on + d * on * on / 2;
      map_(j, kBlocks + k) = d * d / 2 + d * on;
      map_(j, 2 * kBlocks + k) = d;
    }
    map_(k, 3 * kBlocks + k) = 1;
  }
}

JerkProgramme::State JerkProgramme::After(const State& start, const Blocks& jerks, double t_s) const {
  State at = start;
  for (size_t k = 0; k < kBlocks && t_s > 0; ++k) {
    const double d = std::min(t_s, lengths_s_[k]);
    const auto j = jerks.col(static_cast<int>(k));
    at.q += d * (at.v + d * (at.a / 2 + d / 6 * j));
    at.v += d * (at.a + d / 2 * j);
    at.a += d * j;
    t_s -= lengths_s_[k];
  }
  if (t_s > kRounding_s) at.v.setZero(), at.a.setZero();
  return at;
}

void JerkProgramme::Begin(const State& start, const Bounds& bounds) {
  start_ = start;
  const int n = joints();
  unit_ = bounds.jerk;
  H_.setZero(kBlocks * n, kBlocks * n);
  g_.setZero(kBlocks * n);
  extras_ = 0;
  extra_.setZero(kBlocks * n, kMostExtra);
  extra_least_.setConstant(-1);
  scale_.resize(n, kRows);
  low_.resize(n, kRows);
  high_.resize(n, kRows);
  for (int k = 0; k < kBlocks; ++k) {
    const double t = ends_s_[static_cast<size_t>(k)];
    const Joints half = 0.5 * (bounds.upper - bounds.lower);
    const auto fill = [&](int row, const Joints& free, const Joints& low, const Joints& high, const Joints& size) {
      scale_.col(row) = unit_.cwiseQuotient(size);
      low_.col(row) = (low - free).cwiseQuotient(size);
      high_.col(row) = (high - free).cwiseQuotient(size);
    };
    fill(k, start.q + t * (start.v + t / 2 * start.a), bounds.lower, bounds.upper, half);
    fill(kBlocks + k, start.v + t * start.a, -bounds.velocity, bounds.velocity, bounds.velocity);
    fill(2 * kBlocks + k, start.a, -bounds.acceleration, bounds.acceleration, bounds.acceleration);
    fill(3 * kBlocks + k, Joints::Zero(n), -bounds.jerk, bounds.jerk, bounds.jerk);
  }
}

void JerkProgramme::AddCost(int k, const Joints& at, const Weights& W, const Joints& slope, double onward_s) {
  const int n = joints();
  const double t = ends_s_[static_cast<size_t>(k)];
  const Row map = map_.col(k) + onward_s * map_.col(kBlocks + k);
  const Joints v = start_.v + t * start_.a;
  const Joints free = start_.q + t * (start_.v + t / 2 * start_.a) + onward_s * v;
  const Weights scaled = unit_.asDiagonal() * W * unit_.asDiagonal();
  const Joints pull = unit_.cwiseProduct(W * (free - at) + slope);
  for (int j = 0; j <= k; ++j) {
    g_.segment(j * n, n) += map[j] * pull;
    for (int l = 0; l <= j; ++l) H_.block(j * n, l * n, n, n) += map[j] * map[l] * scaled;
  }
}

void JerkProgramme::AddJerkCost(const Weights& W) {
  const int n = joints();
  const Weights scaled = unit_.asDiagonal() * W * unit_.asDiagonal();
  for (int k = 0; k < kBlocks; ++k) H_.block(k * n, k * n, n, n) += lengths_s_[static_cast<size_t>(k)] * scaled;
}

void JerkProgramme::AddLeast(int k, const Joints& way, double least) {
  if (extras_ == kMostExtra) return;
  const int n = joints();
  const double t = ends_s_[static_cast<size_t>(k)];
  for (int j = 0; j <= k; ++j) extra_.col(extras_).segment(j * n, n) = map_(j, k) * unit_.cwiseProduct(way);
  extra_least_[extras_++] = least - way.dot(start_.q + t * (start_.v + t / 2 * start_.a));
}

JerkProgramme::Rows JerkProgramme::Bounded(const Blocks& shares) const {
  return (shares * map_).cwiseProduct(scale_);
}

double JerkProgramme::Excess(const Blocks& jerks) const {
  const Rows rows = Bounded(unit_.cwiseInverse().asDiagonal() * jerks);
  const Blocks shares = unit_.cwiseInverse().asDiagonal() * jerks;
  const Extra left = extra_least_ - extra_.transpose() * Eigen::Map<const Unknowns>(shares.data(), shares.size());
  return std::max({0.0, (rows - high_).maxCoeff(), (low_ - rows).maxCoeff(), left.maxCoeff()});
}

JerkProgramme::Blocks JerkProgramme::Solve() const {
  const int n = joints();
  Hessian H = H_;
  H.diagonal().array() += 1e-9 * H_.diagonal().maxCoeff();
  // The lower triangle is all that the factorisation reads.
  const double price = kBoundPrice * H.diagonal().maxCoeff();
  const auto as_blocks = [&](const Unknowns& x) { return Blocks(Eigen::Map<const Blocks>(x.data(), n, kBlocks)); };
  // By how much each row is beyond a bound, signed.
  const auto beyond = [&](const Rows& rows) { return Rows((rows - high_).cwiseMax(0) + (rows - low_).cwiseMin(0)); };
  Unknowns x = Unknowns::Zero(kBlocks * n);
  Rows rows = Rows::Zero(n, kRows), held = Rows::Zero(n, kRows);
  // How much each of the other bounds is short of, negative.
  const auto short_of = [&](const Extra& extra) { return Extra((extra - extra_least_).cwiseMin(0)); };
  Extra extra = Extra::Zero(), extra_held = Extra::Zero();
  for (int step = 0; step < kMostSteps; ++step) {
    Hessian A = H;
    Unknowns right = -g_;
    for (int i = 0; i < n; ++i) {
      for (int row = 0; row < kRows; ++row) {
        if (held(i, row) == 0) continue;
        const double bound = held(i, row) < 0 ? low_(i, row) : high_(i, row);
        for (int j = 0; j < kBlocks; ++j) {
          const double of_j = price * scale_(i, row) * map_(j, row);
          right[j * n + i] += of_j * bound;
          for (int l = 0; l <= j; ++l) A(j * n + i, l * n + i) += of_j * scale_(i, row) * map_(l, row);
        }
      }
    }
    for (int k = 0; k < extras_; ++k) {
      if (extra_held[k] == 0) continue;
      right += price * extra_least_[k] * extra_.col(k);
      A += price * extra_.col(k) * extra_.col(k).transpose();
    }
    // The lower triangle is all that the factorisation reads.
    const Unknowns way = A.selfadjointView<Eigen::Lower>().ldlt().solve(right) - x;
    const Rows rows_way = Bounded(as_blocks(way));
    const Extra extra_way = extra_.transpose() * way;
    // As far along it as the cost falls; the first step is free.
    const Unknowns bent = H.selfadjointView<Eigen::Lower>() * way;
    const double slope = g_.dot(way) + bent.dot(x), curvature = bent.dot(way);
    const auto rises = [&](double share) {
      return slope + share * curvature + price * beyond(rows + share * rows_way).cwiseProduct(rows_way).sum() +
                 price * short_of(extra + share * extra_way).dot(extra_way) >
             0;
    };
    double share = 1;
    if (step > 0 && rises(1 + 1e-9)) {
      double low = 0;
      for (int halving = 0; halving < kHalvings; ++halving) {
        const double middle = 0.5 * (low + share);
        (rises(middle) ? share : low) = middle;
      }
    }
    x += share * way;
    rows += share * rows_way;
    extra += share * extra_way;
    const Rows now = beyond(rows).cwiseSign();
    const Extra extra_now = short_of(extra).cwiseSign();
    if (share == 1 && now == held && extra_now == extra_held) break;
    held = now;
    extra_held = extra_now;
  }
  return unit_.asDiagonal() * as_blocks(x);
}

}  // namespace dryrig
