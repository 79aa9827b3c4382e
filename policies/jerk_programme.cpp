#include "policies/jerk_programme.h"

#include <Eigen/Cholesky>
#include <algorithm>

namespace dryrig {

namespace {

constexpr std::array<int, JerkProgramme::kBlocks> kPeriods{2, 3, 4, 6, 8, 10, 12, 15};
constexpr int kSteps = 40;
constexpr double kOverRelaxed = 1.6;
constexpr double kTouched = 1e-9;

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
  if (t_s > 0) at.v.setZero(), at.a.setZero();
  return at;
}

void JerkProgramme::Begin(const State& start, const Bounds& bounds) {
  start_ = start;
  const int n = joints();
  unit_ = bounds.jerk;
  H_.setZero(kBlocks * n, kBlocks * n);
  g_.setZero(kBlocks * n);
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

JerkProgramme::Rows JerkProgramme::Bounded(const Blocks& shares) const {
  return (shares * map_).cwiseProduct(scale_);
}

double JerkProgramme::Excess(const Blocks& jerks) const {
  const Rows rows = Bounded(unit_.cwiseInverse().asDiagonal() * jerks);
  return std::max(0.0, std::max((rows - high_).maxCoeff(), (low_ - rows).maxCoeff()));
}

JerkProgramme::Blocks JerkProgramme::Solve() const {
  const int n = joints();
  const auto as_blocks = [&](const Unknowns& x) { return Blocks(Eigen::Map<const Blocks>(x.data(), n, kBlocks)); };
  Hessian H = H_;
  H.diagonal().array() += 1e-9 * H_.diagonal().maxCoeff();
  // The lower triangle is all that the factorisation reads.
  const Unknowns free = H.selfadjointView<Eigen::Lower>().ldlt().solve(-g_);
  Blocks x = as_blocks(free);
  Rows z = Bounded(x);
  if (((z - high_).maxCoeff() <= kTouched) && ((low_ - z).maxCoeff() <= kTouched)) return unit_.asDiagonal() * x;

  Hessian C = Hessian::Zero(kBlocks * n, kBlocks * n);
  for (int j = 0; j < kBlocks; ++j) {
    for (int l = 0; l <= j; ++l) {
      const auto both = map_.row(j).cwiseProduct(map_.row(l));
      for (int i = 0; i < n; ++i) C(j * n + i, l * n + i) = scale_.row(i).cwiseAbs2().dot(both);
    }
  }
  const double rho = H.trace() / C.trace();
  H += rho * C;
  const Eigen::LDLT<Hessian, Eigen::Lower> factors(H);
  z = z.cwiseMax(low_).cwiseMin(high_);
  Rows y = Rows::Zero(n, kRows);  // multipliers over rho
  for (int step = 0; step < kSteps; ++step) {
    const Blocks back = (z - y).cwiseProduct(scale_) * map_.transpose();
    const Unknowns right = rho * Eigen::Map<const Unknowns>(back.data(), kBlocks * n) - g_;
    x = as_blocks(factors.solve(right));
    const Rows rows = kOverRelaxed * Bounded(x) + (1 - kOverRelaxed) * z;
    z = (rows + y).cwiseMax(low_).cwiseMin(high_);
    y += rows - z;
  }
  return unit_.asDiagonal() * x;
}

}  // namespace dryrig
