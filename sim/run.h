#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "scenes/error.h"
#include "scenes/lesson.h"
#include "scenes/person.h"
#include "scenes/sensing.h"
#include "scenes/stage.h"
#include "sim/arm_world.h"
#include "sim/governor.h"
#include "sim/performance.h"
#include "sim/policy.h"
#include "sim/sensing.h"
#include "sim/take.h"
#include "sim/tracker.h"

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
  std::optional<GovernorSpec> governor;  // none: what the policy wishes is done
  Faults faults;                         // planted
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

/// A take that runs a control period at a time, for who drives it from outside a policy. Not to be moved or copied.
class TakeRun {
 public:
  /// @pre the setup outlives the run. @throws InputError for a setup that does not fit together.
  explicit TakeRun(const TakeSetup& setup);
  TakeRun(const TakeRun&) = delete;
  TakeRun& operator=(const TakeRun&) = delete;

  bool done() const { return tick_ == take_.ticks.size(); }
  double t_s_now() const { return static_cast<double>(tick_) / setup_->physics_hz; }
  double share_done() const { return static_cast<double>(tick_) / static_cast<double>(take_.ticks.size()); }
  size_t ticks_done() const { return tick_; }
  /// What a policy may know now; its parts live until the next Advance. @throws RunError when done.
  Observation Observe();
  /// What Observe saw last, also when done.
  Observation LastSeen() const;
  double lesson_s() const { return performance_.duration_s(); }
  /// Decides the present period by `move`, checked (Policy::Decide) or from there, and runs it. @throws RunError as above.
  void Advance(Move move);
  /// As far as it has run: frames so far, and `ticks_done` of the ticks.
  const Take& take() const { return take_; }
  /// @throws RunError unless done.
  Take Finish() &&;

 private:
  void Tick(double since_control_s);
  void Govern(double t_s, const BodyPose& pose);
  void RecordFrame(const BodyPose& pose, const std::vector<PropPose>& carried);

  const TakeSetup* setup_;
  int ticks_per_control_, ticks_per_frame_;
  size_t thinking_periods_;
  Performance performance_;
  Take take_;
  Reaction person_;
  Sensors sensors_;
  ArmWorld world_;
  Tracker tracker_;
  std::unique_ptr<Governor> governor_;  // has a tracker of its own
  ArmState arm_;
  LensState lens_;
  double focal_wish_m_, focus_wish_m_;
  std::deque<Move> thinking_;
  Shot chosen_;
  JointSetPoint set_point_;
  BodyPose before_;
  std::vector<Eigen::Isometry3d> X_WL_before_;
  size_t tick_ = 0;      // the next to run
  bool sensed_ = false;  // in this control period
};

/// Runs one take. Same setup, same policy, same build: same bits. @throws RunError naming tick and quantity when it fails,
/// InputError for a setup that does not fit together,
/// TakeStopped when `progress` says so.
Take RunTake(const TakeSetup& setup, Policy& policy, const TakeProgress& progress = {});

}  // namespace dryrig
