#pragma once

#include <vector>

#include "scenes/person.h"
#include "sim/clearance.h"
#include "sim/faults.h"
#include "sim/performance.h"

namespace dryrig {

/// Somebody starts: trunk and head lean away from the arm and come back, hands stay at their work as far as the arms reach.
struct Startle {
  double start_s = 0;
  Eigen::Vector3d away_W = Eigen::Vector3d::Zero();  // unit, level
  double lean = 0;                                   // at its greatest, radians
};

/// Share of the lean `since_s` after its start: 0 to 1 to 0, C2. Our own model: up in 0.3 s, held for 0.4 s, back in 1.3 s.
double StartleShare(double since_s);

/// The pose with those startles laid over it; the same bits where none is going on.
BodyPose WithStartles(BodyPose pose, const std::vector<Startle>& startles, double t_s);

/// A performance by somebody who may see the arm come. The performance stays a pure function of time; what the arm did lies over
/// it, and the take keeps it.
class Reaction {
 public:
  Reaction(const Performance& performance, const StartleSpec& spec, Faults faults = {})
      : performance_(&performance), spec_(spec), faults_(std::move(faults)) {}
  /// What the person sees at t, in order of time; `closing_mps`: of the arm's part of the nearest pair, the body's own motion
  /// left out: nobody is startled by what they reach to. One who is startled is not startled again until that is over.
  void See(double t_s, const Clearance& clearance, double closing_mps);
  const Faults& faults() const { return faults_; }
  /// From the floor: a shoved bench does not take anybody along. Holds for every t up to the last instant seen.
  BodyPose PoseAt(double t_s) const {
    return WithLunges(WithStartles(performance_->PoseAt(t_s), startles_, t_s), faults_.lunges, t_s);
  }
  const std::vector<Startle>& startles() const { return startles_; }

 private:
  const Performance* performance_;
  StartleSpec spec_;
  Faults faults_;
  std::vector<Startle> startles_;
};

}  // namespace dryrig
