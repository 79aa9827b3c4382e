#include "policies/way_round.h"

#include <algorithm>
#include <utility>
#include <vector>

namespace dryrig {

namespace {

constexpr size_t kMostVias = 10;

}  // namespace

Eigen::VectorXd WayRound(const ViewSolver& solver, const Eigen::VectorXd& from, const Eigen::VectorXd& goal,
                         const PersonGuess& person) {
  const double here = solver.TooNear(person, from);
  double best = solver.TooNearOnPath(person, from, goal);
  if (best < std::max(kFreePath, here)) return {};
  std::vector<std::pair<double, const Eigen::VectorXd*>> order;
  for (const Eigen::VectorXd& posture : solver.postures()) {
    order.emplace_back(solver.Travel_s(from, posture) + solver.Travel_s(posture, goal), &posture);
  }
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  Eigen::VectorXd via;
  for (size_t i = 0; i < std::min(kMostVias, order.size()) && best > std::max(kFreePath, here); ++i) {
    const Eigen::VectorXd& posture = *order[i].second;
    const double worst = std::max({solver.TooNearOnPath(person, from, posture), solver.TooNear(person, posture),
                                   solver.TooNearOnPath(person, posture, goal)});
    if (worst < 0.5 * best) best = worst, via = posture;
  }
  return via;
}

}  // namespace dryrig
