#pragma once

#include <Eigen/Geometry>
#include <array>
#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "scenes/shot.h"
#include "scenes/stage.h"
#include "sim/body_pose.h"
#include "sim/lens.h"
#include "sim/performance.h"

namespace dryrig {

/// A body point as tracked. `seen` false: `p_W` is the last one delivered, `age_s` old (infinite: never).
struct TrackedPoint {
  Eigen::Vector3d p_W = Eigen::Vector3d::Zero();
  bool seen = false;
  double age_s = 0;
};

struct TrackedPerson {
  bool seen = false;                                // any point delivered in the latest sample
  double stamp_s = 0;                               // when the latest sample was taken
  std::array<TrackedPoint, kNumBodyPoints> points;  // by BodyPoint
  Eigen::Quaterniond q_WT = Eigen::Quaterniond::Identity(), q_WHd = Eigen::Quaterniond::Identity();
  double head_height_m = 0.23, hand_length_m = 0.19;   // as calibrated before the take
};

struct TrackedProp {
  std::string name;
  Eigen::Vector3d p_WP = Eigen::Vector3d::Zero();
  double extent_m = 0.1;                            // diameter of its bounding sphere
  bool seen = false;
  double age_s = 0;
};

struct HeardSentence {
  double end_s = 0, heard_s = 0;                    // last word spoken, delivered
  std::string text;                                 // as recognised
};

struct ArmState {
  Eigen::VectorXd q, qd;                            // measured
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
};

/// All that a policy may know at a control tick. `heard` holds every sentence delivered so far, oldest first.
struct Observation {
  double t_s = 0;
  const TrackedPerson& person;
  std::span<const TrackedProp> props;
  std::span<const HeardSentence> heard;
  const ArmState& arm;
  LensState lens;
  const Stage& stage;
};

/// Wanted camera pose and its velocity in W (linear m/s, angular rad/s).
struct CameraTarget {
  Eigen::Isometry3d X_WC = Eigen::Isometry3d::Identity();
  Eigen::Vector3d v_WC = Eigen::Vector3d::Zero(), w_WC = Eigen::Vector3d::Zero();
};
/// Wanted joint positions.
struct JointTarget {
  Eigen::VectorXd q;
};

struct Move {
  std::variant<CameraTarget, JointTarget> motion;
  double focal_m = 0, focus_m = 1;
  Shot chosen;  // what the policy believes it films
};

/// @throws RunError naming the field if a number of the move is not finite, a rotation is none, or a size does not fit the arm.
void RequireSound(const Move& move, const Observation& seen);

/// A framing policy. One object a take; it may keep state between ticks, but reads no clock and no random device.
class Policy {
 public:
  virtual ~Policy() = default;
  /// Called once, before the first tick. The stage outlives the take.
  void BackToOne(const Stage& stage, uint64_t seed) { DoBackToOne(stage, seed); }
  /// Checks both sides, then DoDecide. @throws RunError naming the field if a number is not finite or a quaternion not unit.
  Move Decide(const Observation& seen);
  /// The same, unchecked, for who hands it on to a Decide.
  Move DecideUnchecked(const Observation& seen) { return DoDecide(seen); }
  /// The scoring key, given only to policies that say they are not deployable.
  virtual bool deployable() const { return true; }
  virtual void ReadKey(const std::vector<TimedIntent>& /*intents*/) {}

 private:
  virtual void DoBackToOne(const Stage& stage, uint64_t seed) = 0;
  virtual Move DoDecide(const Observation& seen) = 0;
};

/// Policy parameters by name, as a command line or file gives them.
using ParamValues = std::map<std::string, double>;
/// One parameter as shown to people; filled by the policy's config visitor.
struct ParamInfo {
  std::string name, unit;
  double value = 0, lo = 0, hi = 0;
  std::string meaning;
};

}  // namespace dryrig
