#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "scenes/stage.h"
#include "sim/arm_dynamics.h"
#include "sim/clearance.h"
#include "sim/governed.h"
#include "sim/path_clock.h"
#include "sim/policy.h"
#include "sim/safety_sensor.h"
#include "sim/tracker.h"

namespace dryrig {

/// A safety layer between policy and servo. Speeds of people after ISO 13855 as public copies give them: 1.6 m/s for a body that
/// walks, 2 m/s for a hand that reaches; 0.25 m/s is the reduced speed of ISO 10218-1 (secondary too). The rest is our own
/// choice.
struct GovernorSpec {
  SafetySensorSpec sensor;
  double head_mps = 1.6, trunk_mps = 1.6, limb_mps = 2.0;  // what it holds is void for people who are faster
  double contact_mps = 0.25;      // no point of the arm is faster where it could be touched by anything but head and face
  double brake_share = 1;         // of the joints' acceleration and jerk limits, to slow the path's rate: category 1, drives on
  double hasten_per_s = 1;        // greatest gain
  double retreat_within_m = 0.2;  // of a head, where it has stood so long,
  double retreat_after_s = 0.5;
  double retreat_mps = 0.1;  // it goes back along its path
};

/// Scales the rate at which the arm goes along the path that the tracker lays, 1 to 0, by the separation left, so that the path
/// itself stays; backwards to retreat. It reads its own sensor, never the truth.
///
/// What it holds: a person whose parts are no faster than the spec says is never approached by a point of the arm faster than
/// `contact_mps` when they could touch, and never at all by one that could touch head or face. From every state it keeps a way to
/// get there: braking of the path's rate and of the tracker together, begun at the next decision, with the sensor's age and
/// error, the servo's latency and the most that the tracker may still gain in speed. Not held: while the arm goes away from
/// a head, no faster than `contact_mps`, the head could come round to its other side; a servo out of torque brakes later than
/// told.
class Governor {
 public:
  /// Stage and person outlive the governor, which has a tracker of its own, at rest at q0.
  Governor(const GovernorSpec& spec, const Stage& stage, const PersonBody& person, const JointVector& q0, double physics_hz,
           double control_hz, uint64_t seed);

  /// The truth, for the sensor alone.
  void Look(double t_s, const BodyPose& pose) { sensor_.Look(t_s, pose); }
  /// The policy's latest wish.
  void Follow(const Move& move) { move_ = move; }
  /// Decides if it is time to, and gives the set point for the tick at t; the arm's links are at X_WL.
  void Tick(double t_s, const std::vector<Eigen::Isometry3d>& X_WL, JointSetPoint* out);

  double rate() const { return clock_.rate(); }
  GovernorState state() const { return state_; }
  bool unreachable() const { return tracker_.unreachable(); }

 private:
  enum Kind { kHead, kTrunk, kLimb, kKinds };
  struct Part {
    ArmBody body;
    JointVector span;
    double ball_m = 0;
  };
  /// What holds an arm's body back.
  struct Threat {
    double speed_mps = 0;                // most that a point of it may come to have at rate 1 if the tracker brakes
    std::array<double, kKinds> gap_m{};  // at least, to each kind of the person's parts as sensed
    Eigen::Vector3d p_WArm, p_WHead;     // nearest points, where a head is near
    bool head_near = false;              // so that those are known
    bool leads_away = false;             // the path takes that point away from the head, now and at its period's end
  };
  void NextPeriod(const std::vector<Eigen::Isometry3d>& X_WL);
  void Decide(double t_s, const std::vector<Eigen::Isometry3d>& X_WL);
  void Sense(double t_s, const std::vector<Eigen::Isometry3d>& X_WL);
  void Foresee(const std::vector<Eigen::Isometry3d>& X_WL);
  double AllowedRate(double age_s, double spare_m) const;
  bool Allowed(const Threat& threat, double rate, double age_s, double spare_m) const;
  double Needed_m(const Threat& threat, Kind kind, double rate, double age_s) const;
  double KindSpeed_mps(Kind kind) const;
  bool LeadsAway(const Threat& threat, int link, const std::vector<Eigen::Isometry3d>& X_WL, const JointVector& qd) const;
  bool RetreatLeadsAway(const std::vector<Eigen::Isometry3d>& X_WL) const;

  GovernorSpec spec_;
  const Stage* stage_;
  const PersonBody* person_;
  double dt_s_, control_hz_, reaction_s_;
  std::vector<Part> parts_;
  std::vector<Kind> kinds_;  // of the person's capsules
  SafetySensor sensor_;
  Tracker tracker_;
  PathClock clock_;
  std::optional<Move> move_;
  std::vector<Threat> threats_;
  double slow_per_s_ = 0, ease_per_s2_ = 0;  // how fast the path's rate can fall at its present speed, and that set in
  GovernorState state_ = GovernorState::kWatch;
  bool brakes_ = false, refused_ = false;  // the path's rate has to fall; so no new wish was laid for this period
  double age_s_ = 0;                       // of what the sensor showed last
  double target_ = 1, next_decision_s_ = 0, stands_since_s_ = 0;
};

}  // namespace dryrig
