#pragma once

#include <array>
#include <optional>
#include <string>

#include "sim/reach.h"
#include "sim/script.h"

namespace dryrig {

/// Moves a person from one posture to the next and writes it into a script's tracks: the verbs that beats are made of.
/// Every verb starts at the time given (not before the last one's end) and returns when it is over.
class Stager {
 public:
  Stager(const Lesson& lesson, const Bench& bench, const PersonSpec& person, const PersonBuild& build, uint64_t seed,
         Script* script);

  /// For messages: the beat at work and the prop it is about.
  void SetContext(const Beat* beat, int number, const std::string& what);

  /// Where gaze goes meanwhile; it gets to `p_W` about half a second before the hands do, if they move to it.
  struct Look {
    Eigen::Vector3d p_W;
    bool leads_hand = false;
  };
  /// Both hands and the torso move at once (two hands that reach together arrive together: Kelso et al. 1979).
  double Move(double t_s, const std::array<HandGoal, 2>& goals, const std::optional<Look>& look);
  /// Looks only. Returns when the head is still.
  double LookAt(double t_s, const Look& look);
  /// Gets hold of a prop and carries it from then on; first puts down what else that hand holds. The other hand goes to
  /// `other`, or rests.
  double Take(double t_s, Side side, int prop, const std::optional<HandGoal>& other = {});
  /// Lays what the hand holds at `at_m` (bench coordinates), or where it first lay, while the other hand stays or goes to
  /// `other`. Nothing held: nothing is done.
  double PutDown(double t_s, Side side, const std::optional<Eigen::Vector2d>& at_m, const std::optional<HandGoal>& other = {});
  /// Faces `turn_rad` from the next Move on.
  void SetTurn(double turn_rad) { turn_ = turn_rad; }
  double turn() const { return turn_; }

  /// At rest on the bench near its front edge, or hovering over it with what the hand holds.
  HandGoal RestGoal(Side side) const;
  HandGoal TouchGoal(Side side, int prop) const;   // on top of a prop, fingers as for gripping it
  HandGoal HoldUpGoal(Side side, int prop) const;  // a held prop before the upper chest
  /// Fingertips work on a prop; `aside` shares it with the other hand. A held tool's underside gets there.
  HandGoal WorkGoal(Side side, int prop, bool aside) const;
  HandGoal SteadyGoal(Side side, int prop) const;
  HandGoal OverBenchGoal(Side side, int prop) const;  // a held prop, low over the middle of the working place
  /// The pointing finger before a prop, off by the pointing error; tries goals until one can be reached.
  HandGoal PointGoal(Side side, int prop, const HandGoal& other);

  /// Fits a motion about this hand's goal: shrunk until the arm reaches all of it, lifted until no fingertip meets the bench.
  void FitWork(Side side, WorkSpan* span) const;

  const HandGoal& goal(Side side) const { return hands_[side].goal; }
  const HandSolution& solution(Side side) const { return hands_[side].solved; }
  int held(Side side) const { return hands_[side].held; }
  int carrier(int prop) const { return props_[static_cast<size_t>(prop)].carrier; }
  void SetTilt(Side side, double tilt) { hands_[side].tilt = tilt; }
  /// A thin prop shows its face when it is held up on edge: its tilt then.
  bool IsThin(int prop) const;
  static constexpr double ShowTilt() { return -1.25; }
  Eigen::Vector3d PropInWorld(int prop) const;           // its centre now
  Eigen::Vector3d CrewPoint() const { return crew_W_; }  // where a camera crew would be
  Eigen::Vector3d TorsoPoint() const;                    // ahead of the torso at eye height
  double Vary(double share) { return std::clamp(1 + share * timing_.Normal(), 1 - 2.5 * share, 1 + 2.5 * share); }
  double pace() const { return pace_; }
  RandomStream& paths() { return paths_; }
  RandomStream& timing() { return timing_; }
  int FindProp(const std::string& name) const;

 private:
  struct HandState {
    HandGoal goal;
    HandSolution solved;
    int held = -1;
    double tilt = 0;
    std::optional<FingerPose> preshape;  // for the next Move: fingers on the way
  };
  struct PropState {
    int carrier = -1;
    PropRest rest, first;
    double height = 0, top = 0;  // half of its height; of its shape over its centre
  };
  struct Grip {
    Eigen::Vector3d p_PG;
    double gap_m;
  };
  Eigen::Vector2d FreeRest(Side side) const;
  Grip GripFor(int prop, Side side) const;
  Eigen::Vector3d PropInYaw(int prop) const;
  Eigen::Matrix3d HeldRotation(const PropCarry& carry, double tilt) const;
  PropCarry& CarryOf(int prop) const { return script_->props[static_cast<size_t>(prop)].carries.back(); }
  BodySolution SolveOrThrow(const std::array<HandGoal, 2>& goals) const;
  void LookBy(double from_s, double arrive_s, const Eigen::Vector3d& p_W);
  Eigen::Vector3d ToYaw(const Eigen::Vector3d& p_W) const { return WorldToYaw(build_, turn_, p_W); }
  Eigen::Vector3d ToWorld(const Eigen::Vector3d& p_Y) const { return YawToWorld(build_, turn_, p_Y); }

  const Lesson& lesson_;
  const Bench& bench_;
  const PersonSpec& person_;
  const PersonBuild& build_;
  Script* script_;
  RandomStream timing_, paths_, pointing_;
  double pace_, turn_ = 0, least_lean_, rest_lift_ = 0, top_z_;
  Eigen::Vector3d crew_W_;
  std::array<Eigen::Vector2d, 2> rest_at_;  // of the middle finger's tip, bench coordinates
  std::array<HandState, 2> hands_;
  std::vector<PropState> props_;
  const Beat* beat_ = nullptr;
  int beat_number_ = 0;
  std::string what_;
};

}  // namespace dryrig
