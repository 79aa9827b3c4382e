#pragma once

#include <cstdint>
#include <deque>
#include <limits>
#include <optional>

#include "sim/body_pose.h"
#include "sim/rng.h"

namespace dryrig {

/// How a safety layer sees a person: late, a little off, and perhaps one day not at all.
struct SafetySensorSpec {
  double rate_hz = 60, latency_s = 0.05;
  double late_s = 0;       // a fault: samples come so much later than anybody knows. A safety layer holds nothing then
  double error_m = 0.025;  // each point is off by up to this, never more
  double dead_from_s = std::numeric_limits<double>::infinity(),
         dead_until_s = std::numeric_limits<double>::infinity();  // a fault
};

/// Samples of the truth, delivered late.
class SafetySensor {
 public:
  SafetySensor(const SafetySensorSpec& spec, uint64_t seed) : spec_(spec), random_(seed, "safety sensor") {}

  /// The truth at t, in order of time; a sample is taken where one is due.
  void Look(double t_s, const BodyPose& pose);
  struct Sample {
    double taken_s = 0;
    BodyPose pose;
  };
  /// The newest sample delivered by t; null: none yet.
  const Sample* Newest(double t_s);

 private:
  SafetySensorSpec spec_;
  RandomStream random_;
  double next_s_ = 0;
  std::deque<Sample> samples_;  // oldest first; the first may be delivered
};

}  // namespace dryrig
