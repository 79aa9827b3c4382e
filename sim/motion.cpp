#include "sim/motion.h"

#include <numbers>

namespace dryrig {

namespace {
// Chosen from memory so that unhurried reaches of 0.2 to 0.5 m over a table take 0.6 to 0.9 s; slower than the fast tapping
// that Fitts's law is usually fitted to (MacKenzie's re-fit of Fitts 1954: 0.0128 s + 0.0947 s/bit).
constexpr double kFittsA_s = 0.25;
constexpr double kFittsB_s = 0.16;
}  // namespace

double FittsIndex_bits(double distance_m, double width_m) {
  return std::log2(distance_m / width_m + 1);
}

double ReachTime_s(double distance_m, double width_m) {
  return kFittsA_s + kFittsB_s * FittsIndex_bits(distance_m, width_m);
}

Wander::Wander(RandomStream& random, double rms, double lo_hz, double hi_hz) : amplitude_(rms * std::sqrt(2.0 / kSines)) {
  for (int i = 0; i < kSines; ++i) {
    // Each sine has its own part of the band, so that no two agree.
    const double step = (hi_hz - lo_hz) / kSines;
    omega_[i] = 2 * std::numbers::pi * (lo_hz + step * (i + random.Uniform(0.1, 0.9)));
    phase_[i] = random.Uniform(0, 2 * std::numbers::pi);
  }
}

}  // namespace dryrig
