#include "scenes/joint_samples.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace dryrig {

namespace {

constexpr double kTurnSlack = std::numbers::pi / 180, kSlideSlack_m = 0.002;
constexpr double kWholeTurn = 0.3;  // rad: a step this near to a turn is one

}  // namespace

bool FitsRange(const Joint& joint, const JointSamples& q, int j, double factor) {
  if (joint.continuous) return true;
  const double slack = joint.kind == JointKind::kRevolute ? kTurnSlack : kSlideSlack_m;
  return std::all_of(q.begin(), q.end(), [&](const Eigen::VectorXd& at) {
    return at[j] * factor >= joint.lower - slack && at[j] * factor <= joint.upper + slack;
  });
}

double ExtremeOf(const JointSamples& q, int j) {
  double out = 0;
  for (const Eigen::VectorXd& at : q) {
    if (std::abs(at[j]) > std::abs(out)) out = at[j];
  }
  return out;
}

double TravelOf(const JointSamples& q, int j) {
  const auto [least, most] =
      std::minmax_element(q.begin(), q.end(), [j](const Eigen::VectorXd& a, const Eigen::VectorXd& b) { return a[j] < b[j]; });
  return (*most)[j] - (*least)[j];
}

int UnwrapTurns(JointSamples* q, int j) {
  constexpr double kTurn = 2 * std::numbers::pi;
  double turns = 0;
  int jumps = 0;
  for (size_t i = 1; i < q->size(); ++i) {
    const double step = (*q)[i][j] + turns - (*q)[i - 1][j];
    if (std::abs(std::abs(step) - kTurn) < kWholeTurn) turns -= std::copysign(kTurn, step), ++jumps;
    (*q)[i][j] += turns;
  }
  return jumps;
}

}  // namespace dryrig
