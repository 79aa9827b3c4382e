#pragma once

#include <optional>
#include <string>

#include "metrics/contact_limits.h"
#include "scenes/profile.h"
#include "sim/distance.h"
#include "sim/stopping.h"
#include "sim/take_motion.h"

namespace dryrig {

/// A protective separation, term by term, in metres: after ISO/TS 15066:2016 5.5.4 as public copies give it; illustrative.
struct SeparationTerms {
  double human_m = 0;     // S_h: the person's travel while the arm reacts and stops
  double reaction_m = 0;  // S_r: how much nearer the arm comes while it reacts, all joints at their speeds
  double stopping_m = 0;  // S_s: and then until it stands, simulated from its limits at this pose and speed
  double intrusion_m = 0, person_error_m = 0, robot_error_m = 0;  // C, Z_d, Z_r
  double total_m() const { return human_m + reaction_m + stopping_m + intrusion_m + person_error_m + robot_error_m; }
};

/// A part of the body between the arm and something that does not give way.
struct Clamping {
  std::string against;         // "bench", a shelf, a part of the trunk
  double gap_m = 0;            // between the arm's body and that; below the least gap for this part of the body
  double permissible_mps = 0;  // quasi-static force, the clamped part giving no way itself
  double press_N = 0;          // what the joints' efforts can press with, at most the profile's press limit
  double limit_N = 0;          // quasi-static
};

/// A pair of an arm body and a person's capsule at a physics tick, with all that the rules ask of it.
struct PairMoment {
  double t_s = 0;
  int arm_body = -1, capsule = -1;  // in Take::arm_bodies, PersonBody::capsules
  std::string region;
  double distance_m = 0;
  Eigen::Vector3d p_WArm = Eigen::Vector3d::Zero(), p_WPerson = Eigen::Vector3d::Zero();
  double robot_mps = 0;   // of the arm's nearest point toward the person; negative: away
  double person_mps = 0;  // of the person's nearest point toward the arm
  double closing_mps() const { return robot_mps + person_mps; }
  double stopping_s = 0;               // T_s: servo's latency and braking
  double torque_share = 1;             // of the acceleration limits that braking has
  SeparationTerms constant, measured;  // with the profile's human speed, with the person's own
  double reflected_kg = 0, reduced_kg = 0;
  bool no_contact = false;     // skull, face
  double permissible_mps = 0;  // transient contact; 0 where none is accepted
  std::optional<Clamping> clamping;

  /// The arm itself comes nearer. Below 5 mm/s it stands: servos at rest are as fast.
  bool robot_approaches() const { return robot_mps > 0.005; }
  double contact_margin_mps() const { return permissible_mps - closing_mps(); }
};

/// Regions of the person's capsules under a profile, one a capsule. @throws RunError for a region that is none.
std::vector<ContactRegion> RegionsOf(const PersonBody& person, const Profile& profile);
/// Smallest gap that a part of the body is not crushed in, metres (ISO 13854, from memory): hand 0.1, arm 0.12, leg 0.18,
/// head and neck 0.3, trunk 0.5.
double LeastGap_m(std::string_view region);

/// Works out moments of one take under one profile.
class PairExaminer {
 public:
  /// All outlive the examiner.
  PairExaminer(const TakeMotion& motion, const Profile& profile);
  PairMoment Examine(const TakeInstant& now, int part, int capsule) const;
  StopPlan PlanAt(const TakeInstant& now) const;

  /// Speeds of the pair's nearest points toward each other.
  struct Approach {
    double robot_mps, person_mps;
    Eigen::Vector3d n_W;  // unit, from the arm to the person
  };
  Approach ApproachOf(const TakeInstant& now, int part, int capsule, const Nearest& near) const;
  /// Transient contact at the nearest points; 0 where none is accepted.
  double Permissible_mps(const TakeInstant& now, int part, int capsule, const Nearest& near, const Eigen::Vector3d& n_W,
                         double* reflected_kg, double* reduced_kg) const;
  /// Never more than Permissible_mps: the arm as heavy as can be.
  double LeastPermissible_mps(int capsule) const { return least_permissible_[static_cast<size_t>(capsule)]; }
  std::optional<Clamping> ClampingOf(const TakeInstant& now, int part, int capsule, const Nearest& near,
                                     const Approach& approach) const;
  const ContactRegion& RegionOf(int capsule) const { return regions_[static_cast<size_t>(capsule)]; }
  const Profile& profile() const { return *profile_; }

 private:
  SeparationTerms Advance(const TakeInstant& now, int part, int capsule, double distance_m, const StopPlan& plan) const;

  const TakeMotion* motion_;
  const Profile* profile_;
  ArmDynamics dynamics_;
  Stopper stopper_;
  std::vector<ContactRegion> regions_;
  std::vector<double> least_permissible_;
  std::vector<Solid> still_;  // bench and what stands on it; not zones
  std::vector<std::string> still_names_;
  std::vector<int> trunk_;  // capsules that a hand or arm can be pressed against
  JointVector effort_;
};

}  // namespace dryrig
