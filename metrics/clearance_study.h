#pragma once

#include <optional>
#include <string>
#include <vector>

#include "metrics/pair_moment.h"
#include "metrics/solid_gaps.h"
#include "scenes/profile.h"
#include "sim/take_motion.h"

namespace dryrig {

/// What a rule made of a take. `margin` is permitted minus actual (m for separation and head, m/s for the others): negative is
/// broken. No margin: there was nothing to judge, and nothing is broken.
struct RuleResult {
  ClearanceRule rule;
  bool enforced = false;
  std::optional<double> margin;
  bool searched = true;  // over the whole take; else at its nearest moment alone (separation that is not enforced)
  double t_s = 0;
  std::string what;                  // "camera – left hand"; of speed: the body
  std::optional<PairMoment> moment;  // all of it; none for speed
  double value = 0, limit = 0;       // actual and permitted: speeds, or distance and protective distance
  bool presses = false;              // clamping: it could press with more than the region may be pressed with
  bool broken() const { return (margin && *margin < 0) || presses; }
};

/// The worst of one pair that came within the profile's watch.
struct PairWorst {
  PairMoment moment;   // least contact margin while the arm came nearer; least distance if it never did
  double least_m = 0;  // least distance at a tick,
  double least_t_s = 0;
  double bound_m = 0;  // and at any time
};

/// May this arm come near this person? A study of one take under one profile, exact at physics rate and bounded between ticks.
/// Illustrative: formulas of standards as public copies give them, on a simulation; no risk assessment.
struct ClearanceStudy {
  std::vector<RuleResult> rules;  // all of kClearanceRules, in their order
  PairMoment nearest;             // of the whole take
  double nearest_bound_m = 0;     // no pair was ever nearer
  std::vector<PairWorst> pairs;   // least margin first
  int touches = 0;                // ticks with a touching pair
  int touches_by_person = 0;      // those of them in which the arm did not come nearer in any touching pair
  std::vector<SolidGap> gaps;     // arm against itself, bench, zones, props; nearest first
  /// The arm is in a gap of this kind.
  bool strikes(GapKind kind) const;
  /// No enforced rule is broken, and the arm strikes nothing fixed and enters no zone. That it strikes itself or a prop is told.
  bool allowed() const;
};

/// @throws RunError for a take without arm or person.
ClearanceStudy StudyClearance(const TakeMotion& motion, const Profile& profile);

/// "left index tip – camera".
std::string PairText(const Take& take, const PairMoment& moment);

}  // namespace dryrig
