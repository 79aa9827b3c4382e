#pragma once

#include <memory>
#include <vector>

#include "scenes/sensing.h"
#include "sim/performance.h"
#include "sim/policy.h"
#include "sim/startle.h"

namespace dryrig {

/// The trackers and the recogniser between the truth and a policy. Noise depends on seed, purpose and sample number alone,
/// so it is the same for every policy. Whole samples are taken at the tracker's rate from the performance, `latency_s` back.
class Sensors {
 public:
  /// `reaction`, if any, lies over the performance, and is kept up to date by its owner; its faults befall the tracker.
  Sensors(const Sensing& sensing, const Lesson& lesson, const Bench& bench, const Performance& performance, uint64_t seed,
          const Reaction* reaction = nullptr);
  ~Sensors();

  /// Brings the views below up to time t (not before the last call's).
  void Sense(double t_s);
  const TrackedPerson& person() const;
  std::span<const TrackedProp> props() const;
  std::span<const HeardSentence> heard() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace dryrig
