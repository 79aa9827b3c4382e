#pragma once

#include <optional>
#include <string>
#include <vector>

#include "bench/baseline.h"
#include "bench/statistics.h"
#include "scenes/suite.h"

namespace dryrig {

/// One question that the gate asks, and its answer.
struct Finding {
  enum class Kind { kChange, kWorst, kLimit, kMissing };
  Kind kind = Kind::kChange;
  bool failed = false;
  std::string policy, metric;
  std::string text;                // the answer in words, with numbers and units
  double before = 0, now = 0;      // means for kChange, worst values for kWorst, bound and worst value for kLimit
  Interval interval;               // of the mean paired change
  double allowed = 0;              // the metric's tolerance at `before`
  std::vector<std::string> takes;  // at most three that explain it most, as BaselineTake::Key spells them
};

/// What became worse. A metric fails for a policy when its mean paired change is in the worse direction by more than the
/// metric's tolerance and the change's 95 % interval leaves out 0; a metric of safety also when its worst take is worse by more
/// than the tolerance; a limit when any take breaks it; a take that the baseline has and the results lack always.
/// Order: limits, missing takes, then policies and metrics in their own order.
struct Verdict {
  std::vector<Finding> findings;
  size_t pairs = 0, added = 0;  // takes compared; takes that the baseline does not know
  bool failed() const;
};

/// @throws RunError where the two cannot be compared: another suite, other inputs or rates for a take of the same name, no take
/// in common, another set of metrics.
Verdict Judge(const Baseline& before, const Baseline& now, const std::vector<HardLimit>& limits);

/// For people; for a CI summary; for a CI server (JUnit XML, one test case a finding).
std::string ToText(const Verdict& verdict, const Baseline& before);
std::string ToMarkdown(const Verdict& verdict, const Baseline& before);
/// When and where the verdict was given; JUnit XML asks for both.
struct Occasion {
  std::string utc;   // 2026-03-01T09:30:00
  std::string host;
};
Occasion HereAndNow();
/// Valid by the JUnit schema of Apache Ant.
std::string ToJUnit(const Verdict& verdict, const Baseline& before, const Occasion& occasion);

}  // namespace dryrig
