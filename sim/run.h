#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "scenes/error.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "scenes/sensing.h"
#include "scenes/stage.h"
#include "sim/performance.h"
#include "sim/policy.h"
#include "sim/take.h"

namespace dryrig {

/// Everything a take is made from, but the policy.
struct TakeSetup {
  Lesson lesson;
  Stage stage;
  PersonSpec person;
  Sensing sensing;
  uint64_t seed = 1;
  double physics_hz = 240;  // a whole multiple of control and frame rate, [120, 1000]
  double control_hz = 30;
  double decision_latency_s = 1.0 / 30;  // thinking time, simulated: rounded up to whole control periods
  double max_s = 0;                      // stop early; 0: the whole lesson
  std::string policy;                    // name and parameters, for the identity
  std::string params;
};

/// The identity of this setup's take, known before it runs.
TakeIdentity IdentityOf(const TakeSetup& setup);

/// @throws InputError unless the physics rate is in range and a whole multiple of control and frame rate. RunTake asks it too.
void RequireRates(const TakeSetup& setup);

/// Told once a control tick how much of the lesson is done, 0–1; answers whether to go on.
using TakeProgress = std::function<bool(double share)>;

/// A take that its caller stopped.
class TakeStopped : public RunError {
 public:
  using RunError::RunError;
};

/// Runs one take. Same setup, same policy, same build: same bits. @throws RunError naming tick and quantity when it fails,
/// InputError for a setup that does not fit together,
/// TakeStopped when `progress` says so.
Take RunTake(const TakeSetup& setup, Policy& policy, const TakeProgress& progress = {});

}  // namespace dryrig
